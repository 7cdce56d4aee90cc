//! Any text as SVG path data; what is accepted must be usable.
#![no_main]

use checks::hostile;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &str| hostile::path(data));
