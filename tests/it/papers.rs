//! The papers of the demo, read by another reader of PDF and made again by the command.

use std::path::Path;

use lopdf::Document;
use serde_json::Value;
use winze_tests::command::Ran;

/// Every document is whole, says what it is about, and comes out the same to the byte when the
/// command makes it from the office's logbook; what there is no document of is refused.
pub fn are_sound(winze: &dyn Fn(&[&str]) -> Ran, folder: &Path, summary: &Value) {
    let works = summary["works"].as_array().expect("a list");
    let kinds: Vec<_> = works.iter().map(|work| work["work"].as_str()).collect();
    assert_eq!(
        kinds,
        [Some("recalibration"), Some("yearly"), Some("certificate")]
    );
    for work in works {
        let text_of = |name: &str| work[name].as_str().expect("a text");
        let bytes = std::fs::read(folder.join(text_of("file"))).expect("a document");
        let file = Document::load_mem(&bytes).expect("a PDF");
        let pages: Vec<u32> = file.get_pages().keys().copied().collect();
        assert_eq!(Some(pages.len() as u64), work["pages"].as_u64(), "{work}");
        let text = file.extract_text(&pages).expect("its text");
        let solid: String = text.split_whitespace().collect();
        for said in ["station", "procedure"] {
            assert!(solid.contains(text_of(said)), "{said}: {text}");
        }
        assert!(solid.contains("Completed7October2026"), "{text}");

        let ask = |of: &str, out: &str| {
            let ran = winze(&[
                "report",
                of,
                "--logbook",
                "day/office",
                "--out",
                out,
                "--json",
            ]);
            assert!(matches!(ran.code, Some(0 | 1)), "{ran:?}");
            assert_eq!(ran.json()["kind"], work["work"], "{ran:?}");
            let again = std::fs::read(folder.with_file_name(out)).expect("a document");
            assert!(again == bytes, "{of}: the same records, other bytes");
        };
        ask(text_of("station"), "by-station.pdf");
        ask(&text_of("procedure")[..8], "by-id.pdf");
    }
    let screw = &works[0];
    assert!(screw["turns"].as_u64() > Some(1), "{screw}");

    let refused = |arguments: &[&str], said: &str| {
        let mut all = vec!["report", "--logbook", "day/office", "--out", "none.pdf"];
        all.extend(arguments);
        let ran = winze(&all);
        assert_eq!(ran.code, Some(2), "{ran:?}");
        assert!(ran.err.contains(said), "{ran:?}");
    };
    refused(&["T-03", "--kind", "yearly"], "No work of this kind");
    refused(&["T-01"], "No work of this kind");
    refused(&["T-99"], "no station and no procedure");
    refused(&["0000000000"], "no station and no procedure");
    assert!(!folder.with_file_name("none.pdf").exists());
    let week = winze(&[
        "report",
        "--week",
        "--logbook",
        "day/office",
        "--out",
        "week.pdf",
    ]);
    assert!(matches!(week.code, Some(0 | 1)), "{week:?}");
}
