//! Any bytes as a drawing file, DXF or SVG.
#![no_main]

use checks::hostile;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| hostile::drawing(bytes));
