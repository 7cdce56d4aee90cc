//! Any text as a job: read and resolved, or refused in words.
#![no_main]

use libfuzzer_sys::fuzz_target;
use throwmap::diagnostic::Source;

fuzz_target!(|text: &str| {
    let source = Source { name: "job.toml".into(), text: text.into() };
    if let Err(faults) = throwmap::job::resolve(&source) {
        assert!(!faults.is_empty());
        for fault in faults {
            assert!(!fault.render(&source, false).is_empty());
        }
    }
});
