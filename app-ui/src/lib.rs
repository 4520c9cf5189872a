//! placeholder
#![allow(missing_docs)]
slint::include_modules!();
