//! Laid-out pages: nothing overlaps, nothing is cut, nothing is lost.

use proptest::prelude::*;

use super::super::document::{Block, Cell, Column, Line, Table};
use super::super::face::Faces;
use super::super::layout::{Layout, MARGIN, PAGE_HEIGHT, PAGE_WIDTH, lay_out};
use super::super::marks::{Bounds, Drawn, Mark};
use super::super::{document, samples};

fn laid_out(work: &super::super::WorkDone) -> Layout {
    lay_out(&document(work), &Faces::load().unwrap())
}

/// Text that can be seen, with its box a little smaller than drawn: lines may touch.
fn texts(page: &[Mark]) -> Vec<(String, Bounds)> {
    let shown = page.iter().filter_map(|mark| match &mark.drawn {
        Drawn::Text { run, .. } if !run.text.trim().is_empty() => {
            let bounds = mark.bounds();
            let inner = Bounds {
                left: bounds.left + 0.2,
                top: bounds.top + 0.2,
                right: bounds.right - 0.2,
                bottom: bounds.bottom - 0.2,
            };
            Some((run.text.clone(), inner))
        }
        _ => None,
    });
    shown.collect()
}

fn assert_tidy(name: &str, layout: &Layout) {
    let paper = Bounds {
        left: MARGIN - 0.5,
        top: 24.0,
        right: PAGE_WIDTH - MARGIN + 0.5,
        bottom: PAGE_HEIGHT - 24.0,
    };
    for (number, page) in layout.pages.iter().enumerate() {
        for mark in page {
            let bounds = mark.bounds();
            // Outlines of nothing have no box.
            if bounds.left > bounds.right {
                continue;
            }
            let is_inside = bounds.left >= paper.left - 2.0
                && bounds.right <= paper.right + 2.0
                && bounds.top >= paper.top
                && bounds.bottom <= paper.bottom;
            assert!(is_inside, "{name}, page {}: {mark:?}", number + 1);
        }
        let texts = texts(page);
        for (index, (text, bounds)) in texts.iter().enumerate() {
            for (other, other_bounds) in texts.iter().skip(index + 1) {
                assert!(
                    !bounds.overlaps(other_bounds),
                    "{name}, page {}: {text:?} over {other:?}",
                    number + 1
                );
            }
        }
    }
}

fn all_text(layout: &Layout) -> String {
    let lines = layout.pages.iter().flat_map(|page| texts(page));
    lines.map(|(text, _)| text).collect::<Vec<_>>().join(" ")
}

#[test]
fn no_text_stands_over_another_or_beyond_the_paper() {
    for (name, work) in samples::all() {
        assert_tidy(name, &laid_out(&work));
    }
}

#[test]
fn hydraulic_check_takes_exactly_one_page() {
    let faces = Faces::load().unwrap();
    for (name, work) in [("usual", samples::set_up()), ("hard", samples::hard())] {
        let mut document = document(&work);
        document
            .blocks
            .retain(|block| matches!(block, Block::OnePage(_)));
        assert_eq!(document.blocks.len(), 1, "{name}");
        // The opening, then the page of the check.
        assert_eq!(lay_out(&document, &faces).pages.len(), 2, "{name}");
    }
}

#[test]
fn long_note_goes_on_over_pages_under_the_head_of_its_table() {
    let layout = laid_out(&samples::hard());
    let page = layout.pages.iter().find(|page| {
        texts(page)
            .iter()
            .filter(|(text, _)| text.contains("very long"))
            .count()
            > 40
    });
    let page = texts(page.expect("a page full of the note"));
    assert!(page.iter().any(|(text, _)| text == "recorded"));
    let words = all_text(&layout).matches("a very long note").count();
    // Lines break inside the phrase too, so most of its 220 are found whole.
    assert!(words > 60, "{words}");
}

#[test]
fn heading_and_what_is_said_of_a_table_stay_with_it() {
    let faces = Faces::load().unwrap();
    let mut document = document(&samples::set_up());
    // The first page ends somewhere in between.
    for filling in 20..45 {
        let filler = (0..filling).map(|_| Block::Text(Line::plain("filling")));
        let row = || vec![Cell::plain("in the table"), Cell::plain("a value")];
        let table = Table {
            columns: vec![Column::left("", 1.0), Column::left("", 1.0)],
            rows: (0..4).map(|_| row()).collect(),
            ..Table::default()
        };
        let tail = [
            Block::Heading("The heading".to_owned()),
            Block::Text(Line::plain("Said of the table.")),
            Block::Table(table),
        ];
        document.blocks = filler.chain(tail).collect();
        let layout = lay_out(&document, &faces);
        let page_of = |what: &str| {
            let mut pages = layout.pages.iter();
            pages.position(|page| texts(page).iter().any(|(text, _)| text == what))
        };
        let at = ["The heading", "Said of the table.", "in the table"].map(page_of);
        assert!(
            at[0].is_some() && at[0] == at[1] && at[1] == at[2],
            "{filling}: {at:?}"
        );
    }
}

#[test]
fn what_is_not_there_says_so() {
    let text = all_text(&laid_out(&samples::bare()));
    for said in ["Not completed", "As left: not read", "not known"] {
        assert!(text.contains(said), "{said}: {text}");
    }
}

fn any_text() -> impl Strategy<Value = String> {
    prop_oneof![
        "[a-zA-Z0-9 ,.()-]{0,80}",
        "\\PC{0,40}",
        "[a-z]{60,120}",
        Just(String::new()),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn whatever_is_typed_stays_on_its_page(
        name in any_text(), level in any_text(), reason in any_text(), note in any_text(),
        by in any_text(), points in 0..45_u32,
    ) {
        let mut work = samples::recalibration();
        work.station.name = name;
        work.station.level = level;
        work.reason = reason;
        work.setting = Some(samples::setting(points));
        work.opened.by = by.clone();
        for record in &mut work.records {
            record.act.by.clone_from(&by);
        }
        for step in &mut work.steps {
            step.note.clone_from(&note);
        }
        let layout = laid_out(&work);
        assert_tidy("generated", &layout);
        prop_assert!(super::super::write(&document(&work)).is_ok());
    }
}
