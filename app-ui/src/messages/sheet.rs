//! Old sheets: rows refused, columns not understood, files that are no sheets.

use std::path::Path;

use winze_core::sheet::rows::RowFault;
use winze_core::sheet::{MomentFault, Notice, NumberFault, Refusal, RowReport, SheetError};
use winze_core::station::CodeError;

use super::{UserMessage, counted, file_failed, problem_in_words};

/// A refused row in one message.
#[must_use]
pub fn row_refused(report: &RowReport) -> UserMessage {
    let place = match &report.column {
        Some(column) => format!("Line {}, column {column}: ", report.line),
        None => format!("Line {}: ", report.line),
    };
    let mut what = place + &refusal(&report.refusal, &report.found);
    if report.file_ends_here && !matches!(report.refusal, Refusal::CutShort { .. }) {
        what += " The file ends in the middle of this row; the copy may have been cut short.";
    }
    UserMessage::new(
        what,
        "Only this row was left out.",
        expectation(&report.refusal),
    )
}

/// What is wrong, with what was found.
fn refusal(refusal: &Refusal, found: &str) -> String {
    match refusal {
        Refusal::Row(RowFault::OpenQuote) => "a quote is opened and never closed.".to_owned(),
        Refusal::Row(RowFault::StrayQuote { found }) => {
            format!("a closing quote is followed by \"{found}\" instead of a separator.")
        }
        Refusal::Row(RowFault::TooLong) => "the row is longer than 64 KiB.".to_owned(),
        Refusal::CutShort { cells, expected } => {
            format!("the file ends after {cells} of {expected} cells.")
        }
        Refusal::TooFewCells { cells, expected } | Refusal::TooManyCells { cells, expected } => {
            format!("{cells} cells, and the heading has {expected}.")
        }
        Refusal::Empty => "the cell is empty.".to_owned(),
        Refusal::Number(NumberFault::NotANumber) => format!("\"{found}\" is not a number."),
        Refusal::Number(NumberFault::TwoMarks) => {
            format!("\"{found}\" has a second decimal point.")
        }
        Refusal::Number(NumberFault::Grouped) => {
            format!("\"{found}\" could mean thousands or decimals.")
        }
        Refusal::Number(NumberFault::PowerOfTen) => {
            format!("\"{found}\" is a power of ten, which no gauge shows.")
        }
        Refusal::Number(NumberFault::TooManyDigits) => {
            format!("\"{found}\" has more digits than any gauge shows.")
        }
        Refusal::WholeNumber { min, max } => {
            format!("\"{found}\" is not a whole number from {min} to {max}.")
        }
        Refusal::Span => format!("\"{found}\" is not a span."),
        Refusal::Moment(MomentFault::Shape) => format!("\"{found}\" is not a date as read here."),
        Refusal::Moment(MomentFault::NoSuchDay) => {
            format!("\"{found}\" is not a day of the calendar.")
        }
        Refusal::Moment(MomentFault::NoSuchTime) => format!("\"{found}\" is not a time of day."),
        Refusal::Moment(MomentFault::NoSuchOffset) => {
            format!("\"{found}\" has an offset that does not exist.")
        }
        Refusal::Moment(MomentFault::Year) => {
            format!("\"{found}\" lies outside the years 1900 to 2199.")
        }
        Refusal::UnknownUnit => format!("\"{found}\" is not a unit of gauge pressure known here."),
        Refusal::Code(CodeError::Empty) => "the station code is empty.".to_owned(),
        Refusal::Code(CodeError::TooLong { length }) => {
            format!("the station code has {length} characters.")
        }
        Refusal::Code(CodeError::Character {
            character,
            position,
        }) => {
            format!("\"{found}\" has a \"{character}\" at position {position}.")
        }
        Refusal::Flow => format!("\"{found}\" is neither still nor flowing."),
        Refusal::NothingRead => "none of the three gauges was read.".to_owned(),
        Refusal::TextTooLong { max } => format!("the text is longer than {max} bytes."),
        Refusal::RepeatedStation { first_line } => {
            format!("station {found} is already defined on line {first_line}.")
        }
        Refusal::Definition { problem, unit } => lower_first(&problem_in_words(problem, *unit)),
        Refusal::UnknownStation => format!("station {found} is not in the register."),
    }
}

/// What is expected instead, as something to do.
fn expectation(refusal: &Refusal) -> String {
    let text = match refusal {
        Refusal::Row(RowFault::OpenQuote | RowFault::StrayQuote { .. }) => {
            "Close the quote, and double every quote inside quotes."
        }
        Refusal::Row(RowFault::TooLong) => "Shorten the remark, or close an open quote above it.",
        Refusal::CutShort { .. } => "Copy the file again from where it came from.",
        Refusal::TooFewCells { .. } => "Fill the row up with empty cells.",
        Refusal::TooManyCells { .. } => {
            "If numbers have decimal commas, separate cells by semicolons or put the numbers in \
             quotes."
        }
        Refusal::Empty => "Fill the cell.",
        Refusal::Number(NumberFault::Grouped) => "Write the number without thousands marks.",
        Refusal::Number(
            NumberFault::NotANumber
            | NumberFault::TwoMarks
            | NumberFault::PowerOfTen
            | NumberFault::TooManyDigits,
        ) => "Write plain digits with one decimal mark, such as 10.2, or leave the cell empty.",
        Refusal::WholeNumber { .. } => "Write a whole number.",
        Refusal::Span => "Write a span such as 16, 0-16 or -1..5.",
        Refusal::Moment(_) => "Write 2025-03-31, 2025-03-31 07:45 or 2025-03-31T07:45:00+02:00.",
        Refusal::UnknownUnit => {
            "Use bar, kPa, MPa, psi, m of water, ft of water or kgf/cm2; gauge, not absolute."
        }
        Refusal::Code(_) => {
            "A station code has up to 24 letters, digits and - _ . / and starts with a letter or \
             digit."
        }
        Refusal::Flow => "Write still, flowing, or leave the cell empty.",
        Refusal::NothingRead => "Fill at least one gauge, or take the row out.",
        Refusal::TextTooLong { .. } => "Shorten the text.",
        Refusal::RepeatedStation { .. } => "Keep one row for each station.",
        Refusal::Definition { .. } => "Put the figure right and load the register again.",
        Refusal::UnknownStation => "Add the station to the register, or correct its code.",
    };
    text.to_owned()
}

/// Something noticed about a whole sheet.
#[must_use]
pub fn notice(notice: &Notice) -> UserMessage {
    match notice {
        Notice::UnknownColumn { name, position } if name.is_empty() => UserMessage::new(
            format!("Column {position} has no heading and was not read."),
            "All other columns were.",
            "Give it a heading if it matters.",
        ),
        Notice::UnknownColumn { name, position } => UserMessage::new(
            format!("Column {position}, \"{name}\", is not known and was not read."),
            "All other columns were.",
            "Rename it if it is meant to be one of those known.",
        ),
        Notice::Recoded { rows, first_line } => UserMessage::new(
            format!(
                "{} had text that is not UTF-8 (first on line {first_line}); it was read as \
                 Windows-1252.",
                counted(*rows, "row", "rows")
            ),
            "The figures are not affected.",
            "Check special letters in remarks; save the sheet as UTF-8 to be sure.",
        ),
    }
}

/// A sheet that could not be read at all, or not to its end.
#[must_use]
pub fn sheet_failed(error: &SheetError, path: &Path) -> UserMessage {
    let shown = path.display();
    let nothing = "Nothing was taken from it.";
    match error {
        SheetError::Read { line, source } if *line > 1 => {
            let mut message = file_failed("read", path, source);
            message.what = format!("{} Reading stopped at line {line}.", message.what);
            "Rows above that line were kept.".clone_into(&mut message.safe);
            message
        }
        SheetError::Read { source, .. } => file_failed("read", path, source),
        SheetError::Empty => UserMessage::new(
            format!("{shown} has no heading: it is empty or holds comments only."),
            nothing,
            "Check that it is the right file and was copied whole.",
        ),
        SheetError::Utf16 => UserMessage::new(
            format!("{shown} is UTF-16 text."),
            nothing,
            "Save it as CSV in UTF-8 and load it again.",
        ),
        SheetError::Heading { line, fault } => UserMessage::new(
            format!(
                "The heading of {shown} on line {line} cannot be read: {}",
                refusal(&Refusal::Row(fault.clone()), "")
            ),
            nothing,
            "Put the heading right and load the sheet again.",
        ),
        SheetError::MissingColumns { missing, found } => UserMessage::new(
            format!(
                "The heading of {shown} lacks {}. It has: {}.",
                missing.join(", "),
                found.join(", ")
            ),
            nothing,
            "Add the columns, or name them so.",
        ),
        SheetError::RepeatedColumn {
            name,
            first,
            second,
        } => UserMessage::new(
            format!("{shown} has the column \"{name}\" twice, at {first} and {second}."),
            nothing,
            "Rename or remove one of them.",
        ),
    }
}

fn lower_first(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_lowercase().collect::<String>() + letters.as_str()
    })
}

#[cfg(test)]
mod tests {
    use winze_core::sheet::{RegisterSheet, SheetOptions};

    use super::row_refused;

    fn first_refusal(row: &str) -> String {
        let text = format!(
            "station,ratio,set_point,inlet_typical,unit,gauge_class,inlet_span,interstage_span,\
             outlet_span\n{row}\n"
        );
        let mut sheet = RegisterSheet::open(text.as_bytes(), SheetOptions::default()).unwrap();
        let report = sheet.next_row().unwrap().unwrap().unwrap_err();
        row_refused(&report).to_string()
    }

    #[test]
    fn ratio_of_zero_is_named_with_its_figure() {
        assert_eq!(
            first_refusal("T-01,0,2.0,10,bar,1.6,16,10,4"),
            "Line 2, column ratio: the ratio is 0; a first stage divides the inlet pressure, so it \
             must be above 1. Only this row was left out. Put the figure right and load the \
             register again."
        );
    }

    #[test]
    fn set_point_above_interstage_is_named_with_both_figures() {
        let text = first_refusal("T-01,2.5,4.5,10,bar,1.6,16,10,6");
        assert!(
            text.contains("4.50 bar") && text.contains("4.00 bar"),
            "{text}"
        );
    }

    #[test]
    fn cut_row_asks_for_a_new_copy() {
        let text = "station,ratio,set_point,inlet_typical,unit,gauge_class,inlet_span,\
                    interstage_span,outlet_span\nT-01,2.5,2";
        let mut sheet = RegisterSheet::open(text.as_bytes(), SheetOptions::default()).unwrap();
        let report = sheet.next_row().unwrap().unwrap().unwrap_err();
        let message = row_refused(&report);
        assert_eq!(message.what, "Line 2: the file ends after 3 of 9 cells.");
        assert_eq!(message.next, "Copy the file again from where it came from.");
    }
}
