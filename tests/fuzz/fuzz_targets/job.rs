//! Any text as a job: read and resolved, or refused in words.
#![no_main]

use checks::hostile;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| hostile::job(text));
