//! Any text as a quantity of every kind.
#![no_main]

use checks::hostile;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| hostile::quantity(text));
