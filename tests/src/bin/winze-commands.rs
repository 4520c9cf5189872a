//! The program under test, built with the tests: the same entry as `winze` itself, which lives in
//! another package and so has no path that a test could know.

use std::process::ExitCode;

fn main() -> ExitCode {
    winze_app_ui::commands::run(std::env::args_os())
}
