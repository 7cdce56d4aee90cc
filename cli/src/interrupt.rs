//! Ctrl-C: what is being solved comes to its end, and what is found is written.

use std::sync::Once;
use std::sync::atomic::{AtomicBool, Ordering};

use crate::exit::ExitStatus;

static STOP: AtomicBool = AtomicBool::new(false);

/// From now on Ctrl-C is noted; a second one ends the program at once.
pub fn listen() {
    static ONCE: Once = Once::new();
    STOP.store(false, Ordering::Relaxed);
    ONCE.call_once(|| {
        // without a handler Ctrl-C ends the program, as everywhere
        let _ = ctrlc::set_handler(|| {
            if STOP.swap(true, Ordering::Relaxed) {
                std::process::exit(ExitStatus::Interrupted as i32);
            }
        });
    });
}

/// True once Ctrl-C has been typed.
pub fn is_stopped() -> bool {
    STOP.load(Ordering::Relaxed)
}
