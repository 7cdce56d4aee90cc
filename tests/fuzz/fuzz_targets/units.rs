//! Any text as a quantity of every kind.
#![no_main]

use libfuzzer_sys::fuzz_target;
use solver::quantity::{
    AreaResistance, Conductivity, Current, CurrentDensity, Length, Potential, Temperature, Time,
};
use throwmap::units::{Quantity, parse};

fn one<Q: Quantity>(text: &str) {
    if let Err(error) = parse::<Q>(text) {
        assert!(!error.message().is_empty() && !error.label().is_empty());
        let _ = error.help();
    }
}

fuzz_target!(|text: &str| {
    one::<Length>(text);
    one::<Current>(text);
    one::<CurrentDensity>(text);
    one::<Potential>(text);
    one::<Conductivity>(text);
    one::<AreaResistance>(text);
    one::<Temperature>(text);
    one::<Time>(text);
});
