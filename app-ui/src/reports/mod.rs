//! Certificates and sheets as PDF/A: what was done at a station, with its figures, persons and
//! record ids.
//!
//! Start at [`WorkDone`], the plain account of one procedure that everything is made from;
//! [`document()`] turns it into a [`Document`] (what is said, in order), [`layout`] puts that on A4
//! pages, [`pdf`] writes the file; [`write()`] does both. All of it is pure: same account, same bytes.
//! Rules about pressures stay in `core`, texts in [`crate::messages::reports`].

mod account;
mod charts;
mod content;
mod dials;
pub mod document;
pub mod face;
pub mod figures;
pub mod layout;
pub mod marks;
mod paint;
pub mod pdf;
mod qr;
mod work;

use thiserror::Error;

#[cfg(test)]
mod tests;

pub use account::{account, kind_of, needs_a_look};
#[cfg(test)]
pub(crate) use content::samples;
pub use content::{document, due_sheet, week_sheet};
pub use document::Document;
pub use work::{
    Act, CautionNoted, Closing, Draw, Ending, Finding, PastVisit, PerTurn, PointRead, ReadingDone,
    RecordDone, Setting, StepDone, StepState, WorkDone, WorkKind,
};

/// Why a document could not be written.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ReportError {
    /// The embedded typeface cannot be read.
    #[error("the embedded typeface cannot be read")]
    Typeface,
    /// The file would not keep to its standard.
    #[error("not written as PDF/A: {what}")]
    Pdf {
        /// What the library says.
        what: String,
    },
}

impl ReportError {
    fn pdf(what: &str) -> Self {
        let what = what.to_owned();
        Self::Pdf { what }
    }
}

/// A written document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    /// The file.
    pub bytes: Vec<u8>,
    /// How many pages it has.
    pub pages: usize,
}

/// Lays a document out and writes it as PDF/A-2a.
///
/// # Errors
/// Those of [`pdf::write`].
pub fn write(document: &Document) -> Result<Written, ReportError> {
    let faces = face::Faces::load()?;
    let laid_out = layout::lay_out(document, &faces);
    Ok(Written {
        bytes: pdf::write(document, &laid_out)?,
        pages: laid_out.pages.len(),
    })
}
