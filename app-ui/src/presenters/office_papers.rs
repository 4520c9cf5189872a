//! Certificates and reports: every ended procedure that has a document, and its file.

use std::path::Path;

use winze_core::query::ProcedureView;

use super::office_procedures::{self as procedures, STEPS};
use super::office_time as time;
use super::office_upkeep::{ActKey, BoardDetail, BoardLine, Filter, is_found, sentences};
use super::office_view::Fact;
use super::words::capital;
use crate::messages::procedures as words;
use crate::messages::reports::title;
use crate::office::board::{Board, Paper};
use crate::reports::WorkKind;

/// Filter: every kind.
pub const ALL: &str = "all";
/// Key: make the document.
pub const MAKE: &str = "make";
/// Key: show the folder with the documents.
pub const FOLDER: &str = "folder";

/// The kinds of document, with how many there are.
#[must_use]
pub fn filters(board: &Board, chosen: &str) -> Vec<Filter> {
    let all = Filter::new(ALL, format!("All {}", board.papers.len()), chosen);
    let of_kind = WorkKind::ALL.map(|kind| {
        let papers = board.papers.iter();
        let count = papers.filter(|paper| paper.kind == kind).count();
        let label = match kind {
            WorkKind::SetUp => "Set-up",
            WorkKind::Recalibration => "Recalibration",
            WorkKind::YearlyClean => "Yearly",
            WorkKind::Inspection => "Inspection",
        };
        Filter::new(kind.code(), format!("{label} {count}"), chosen)
    });
    [all].into_iter().chain(of_kind).collect()
}

/// The list, the one ended last first. `is_made` says whether a file is there.
#[must_use]
pub fn lines(
    board: &Board,
    chosen: &str,
    find: &str,
    is_made: &dyn Fn(&str) -> bool,
) -> Vec<BoardLine> {
    let papers = board.papers.iter();
    let asked = papers.filter(|paper| chosen == ALL || paper.kind.code() == chosen);
    let lines = asked.filter_map(|paper| {
        let view = board.procedure(paper.at)?;
        Some(line(paper, view, is_made(&paper.file)))
    });
    let fits = |line: &BoardLine| is_found(find, &[&line.code, &line.name, &line.sentence]);
    lines.filter(fits).collect()
}

fn line(paper: &Paper, view: &ProcedureView, is_made: bool) -> BoardLine {
    let by = view
        .state
        .as_ref()
        .and_then(|state| state.closing.closed_by());
    let ending = by.map(|by| procedures::ending(by.body.end));
    let (tone, word) = ending.unwrap_or_default();
    let made = if is_made {
        format!("Made: {}.", paper.file)
    } else {
        "No PDF made yet.".to_owned()
    };
    let id: String = view.at.id.to_string().chars().take(8).collect();
    BoardLine {
        id: view.at.to_string(),
        tone,
        word: word.to_owned(),
        code: view.station.to_string(),
        name: title(paper.kind).to_owned(),
        sentence: sentences([made.as_str(), &format!("Record {id}.")]),
        when: by.map_or_else(String::new, |by| {
            time::day(by.wall_ms, by.body.utc_offset_minutes)
        }),
        ..BoardLine::default()
    }
}

/// The document behind an answer.
#[must_use]
pub fn find<'a>(board: &'a Board, id: &str) -> Option<(&'a Paper, &'a ProcedureView)> {
    let mut papers = board.papers.iter();
    let paper = papers.find(|paper| paper.at.to_string() == id)?;
    Some((paper, board.procedure(paper.at)?))
}

/// The particulars of a document.
#[must_use]
pub fn detail(
    board: &Board,
    id: &str,
    folder: &Path,
    is_made: &dyn Fn(&str) -> bool,
) -> BoardDetail {
    let Some((paper, view)) = find(board, id) else {
        return BoardDetail::default();
    };
    let line = line(paper, view, is_made(&paper.file));
    let mut facts = procedures::facts(board, view);
    if let Some(by) = view
        .state
        .as_ref()
        .and_then(|state| state.closing.closed_by())
    {
        for (name, who) in [
            ("done by", &by.body.done_by),
            ("looked over by", &by.body.seen_by),
        ] {
            if !who.is_empty() {
                facts.push(Fact::new(name, who));
            }
        }
    }
    facts.push(Fact::new("file", &paper.file));
    facts.push(Fact::new("in", folder.display().to_string()));
    let is_made = is_made(&paper.file);
    let told = if is_made {
        "The PDF is there. Making it again gives the same file as long as no record was added."
    } else {
        "No PDF made yet. The record id stands on it and in its code, so that paper and record \
         can be matched."
    };
    let make = if is_made {
        ActKey::new(MAKE, "Make it again")
    } else {
        ActKey::primary(MAKE, "Make the PDF")
    };
    BoardDetail {
        heading: format!("{}: {}", view.station, words::procedure(view.code)),
        place: board.place(&view.station),
        tone: line.tone,
        word: capital(&format!("{}, {}", line.word, line.when)),
        facts,
        told_title: String::new(),
        told: vec![told.to_owned()],
        keys: vec![
            make,
            ActKey::new(FOLDER, "Open the folder"),
            ActKey::new(STEPS, "See the steps"),
        ],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::office::upkeep_scenario;

    #[test]
    fn papers_are_listed_with_their_record_and_file() {
        let board = upkeep_scenario::board();
        let found = lines(&board, ALL, "", &|_| false);
        assert_eq!(found.len(), 1);
        assert!(
            found[0].sentence.starts_with("No PDF made yet. Record "),
            "{found:?}"
        );
        let detail = detail(&board, &found[0].id, Path::new("papers"), &|_| true);
        assert_eq!(detail.keys[0].label, "Make it again");
        let record = detail.facts.iter().find(|fact| fact.name == "record");
        assert_eq!(record.map(|fact| fact.value.len()), Some(64));
        assert!(lines(&board, "certificate", "", &|_| false).is_empty());
    }
}
