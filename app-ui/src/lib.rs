//! The program's library: windows, presenters, bindings and commands.

/// What Slint generates from `ui/app.slint`.
#[allow(missing_docs, clippy::pedantic, reason = "generated code")]
pub mod markup {
    slint::include_modules!();
}
