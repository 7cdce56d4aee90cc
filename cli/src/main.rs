//! The binary: hands its arguments and streams to the library.
use std::process::ExitCode;

fn main() -> ExitCode {
    let terminal = throwmap::Terminal::detect();
    throwmap::run_on(std::env::args_os(), &mut std::io::stdout(), &mut std::io::stderr(), terminal)
        .into()
}
