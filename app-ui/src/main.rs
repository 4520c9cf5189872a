//! The program `winze`.

use std::process::ExitCode;

fn main() -> ExitCode {
    winze_app_ui::commands::run(std::env::args_os())
}
