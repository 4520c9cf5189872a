//! The files as another reader of PDF sees them (`lopdf`), and the QR code as another reader sees it
//! (`rqrr`). PDF/A: the writer's own validator is on in every build; here its outward signs are
//! checked again. No outside validator is at hand.

use std::collections::BTreeSet;

use lopdf::content::Content;
use lopdf::{Dictionary, Document as File, Object};

use super::super::face::Faces;
use super::super::layout::lay_out;
use super::super::{StepState, document, samples, week_sheet, write};

fn file(work: &super::super::WorkDone) -> (Vec<u8>, File) {
    let bytes = write(&document(work)).unwrap().bytes;
    let file = File::load_mem(&bytes).unwrap();
    (bytes, file)
}

/// The text of a whole file with single spaces.
fn text_of(file: &File) -> String {
    let pages: Vec<u32> = file.get_pages().keys().copied().collect();
    let text = file.extract_text(&pages).unwrap();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The text without any white, since lines break anywhere.
fn solid(text: &str) -> String {
    text.chars()
        .filter(|letter| !letter.is_whitespace())
        .collect()
}

#[test]
fn another_reader_finds_every_page_and_every_step() {
    for (name, work) in samples::all() {
        let (_, file) = file(&work);
        let layout = lay_out(&document(&work), &Faces::load().unwrap());
        assert_eq!(file.get_pages().len(), layout.pages.len(), "{name}");
        let text = solid(&text_of(&file));
        let mut wanted = vec![
            document(&work).title,
            work.station.code.to_string(),
            format!("page 1 of {}", layout.pages.len()),
            work.opened.at.id.to_string(),
        ];
        wanted.extend(work.steps.iter().map(|step| step.title.clone()));
        wanted.extend(work.cautions.iter().map(|caution| caution.text.clone()));
        for step in &work.steps {
            if let StepState::PassedOver { reason } = &step.state {
                wanted.push(reason.clone());
            }
        }
        for wanted in wanted {
            assert!(text.contains(&solid(&wanted)), "{name}: {wanted}");
        }
    }
}

#[test]
fn figures_of_the_certificate_are_those_of_the_core() {
    let text = text_of(&file(&samples::set_up()).1);
    // Read by hand off the definition: 10.2 / 2.5 = 4.08 +-10 %; 2.0 +-0.2 bar.
    for figure in [
        "9.2 to 11.2 bar",
        "3.67 to 4.49 bar",
        "1.8 to 2.2 bar",
        "2.49 \u{b1}",
        "0.308 bar",
    ] {
        assert!(text.contains(figure), "{figure}: {text}");
    }
    assert!(text.contains("Completed 6 October 2026"), "{text}");
    assert!(text.contains("1 step passed over"), "{text}");
    assert!(
        !text.to_lowercase().contains("signed by ada"),
        "names are typed, not signed"
    );
}

#[test]
fn same_account_gives_the_same_bytes() {
    for (name, work) in samples::all() {
        let first = write(&document(&work)).unwrap();
        assert_eq!(first, write(&document(&work.clone())).unwrap(), "{name}");
    }
    let mut other = samples::set_up();
    other.reason.push('!');
    assert_ne!(
        write(&document(&other)).unwrap(),
        write(&document(&samples::set_up())).unwrap()
    );
}

#[test]
fn another_reader_finds_the_pages_and_stations_of_the_week() {
    let snapshot = crate::office::samples::snapshot();
    let due = crate::office::upkeep_scenario::board().due;
    let written = write(&week_sheet(&snapshot, &due)).unwrap();
    let file = File::load_mem(&written.bytes).unwrap();
    assert_eq!(file.get_pages().len(), written.pages);
    let text = solid(&text_of(&file));
    let mut wanted = vec![
        "Week sheet".to_owned(),
        "Week 47, 16 to 22 November 2026".to_owned(),
        format!("page {} of {}", written.pages, written.pages),
        "stop the leak".to_owned(),
    ];
    wanted.extend(
        snapshot
            .stations
            .iter()
            .map(|station| station.row.code.to_string()),
    );
    for wanted in wanted {
        assert!(text.contains(&solid(&wanted)), "{wanted}: {text}");
    }
}

fn dictionary<'a>(file: &'a File, object: &'a Object) -> &'a Dictionary {
    file.dereference(object).unwrap().1.as_dict().unwrap()
}

#[test]
fn file_carries_what_pdf_a_asks_for() {
    for (name, work) in samples::all() {
        let (bytes, file) = file(&work);
        assert!(bytes.starts_with(b"%PDF-1.7"), "{name}");
        assert!(file.trailer.get(b"ID").is_ok(), "{name}");
        assert!(file.trailer.get(b"Encrypt").is_err(), "{name}");
        let catalog = file.catalog().unwrap();
        assert_eq!(catalog.get(b"Lang").unwrap().as_str().unwrap(), b"en-GB");
        let marks = dictionary(&file, catalog.get(b"MarkInfo").unwrap());
        assert!(marks.get(b"Marked").unwrap().as_bool().unwrap());
        assert!(catalog.get(b"StructTreeRoot").is_ok());

        let (_, metadata) = file.dereference(catalog.get(b"Metadata").unwrap()).unwrap();
        let metadata = metadata.as_stream().unwrap();
        let xmp = metadata
            .decompressed_content()
            .unwrap_or(metadata.content.clone());
        let xmp = String::from_utf8(xmp).unwrap();
        assert!(xmp.contains("<pdfaid:part>2</pdfaid:part>"), "{xmp}");
        assert!(
            xmp.contains("<pdfaid:conformance>A</pdfaid:conformance>"),
            "{xmp}"
        );

        let (_, intents) = file
            .dereference(catalog.get(b"OutputIntents").unwrap())
            .unwrap();
        let intent = dictionary(&file, &intents.as_array().unwrap()[0]);
        assert_eq!(intent.get(b"S").unwrap().as_name().unwrap(), b"GTS_PDFA1");
        let profile = file
            .dereference(intent.get(b"DestOutputProfile").unwrap())
            .unwrap()
            .1;
        assert!(profile.as_stream().is_ok(), "{name}");
    }
}

#[test]
fn every_font_is_embedded_and_nothing_runs_or_hides() {
    let (_, file) = file(&samples::set_up());
    let mut embedded = BTreeSet::new();
    for object in file.objects.values() {
        let dictionary = match object {
            Object::Dictionary(dictionary) => dictionary,
            Object::Stream(stream) => &stream.dict,
            _ => continue,
        };
        let is_a = |name: &[u8]| {
            dictionary
                .get(b"Type")
                .and_then(Object::as_name)
                .is_ok_and(|found| found == name)
        };
        if is_a(b"FontDescriptor") {
            assert!(dictionary.has(b"FontFile2") || dictionary.has(b"FontFile3"));
            embedded.insert(
                dictionary
                    .get(b"FontName")
                    .unwrap()
                    .as_name()
                    .unwrap()
                    .to_vec(),
            );
        }
        if is_a(b"Font") {
            // Embedded as composite fonts only, each with its way back to letters.
            let subtype = dictionary.get(b"Subtype").unwrap().as_name().unwrap();
            assert!(subtype != b"Type1" && subtype != b"Type3");
            if subtype == b"Type0" {
                assert!(dictionary.has(b"ToUnicode"));
            }
        }
        for forbidden in [
            &b"JS"[..],
            b"JavaScript",
            b"Launch",
            b"EmbeddedFiles",
            b"AA",
        ] {
            assert!(!dictionary.has(forbidden));
        }
    }
    assert_eq!(embedded.len(), 2, "regular and bold");
}

/// The rectangles of the filled outline with the most parts: left, top, right, bottom in page space.
fn code_modules(file: &File) -> Vec<[f32; 4]> {
    let page = file.get_pages()[&1];
    let content = Content::decode(&file.get_page_content(page)).unwrap();
    let (mut best, mut parts): (Vec<[f32; 4]>, Vec<[f32; 4]>) = (Vec::new(), Vec::new());
    for operation in &content.operations {
        let number = |index: usize| operation.operands[index].as_float().unwrap();
        match operation.operator.as_str() {
            "m" => parts.push([number(0), number(1), number(0), number(1)]),
            "l" => {
                if let Some([left, top, right, bottom]) = parts.last_mut() {
                    *left = left.min(number(0));
                    *right = right.max(number(0));
                    *top = top.min(number(1));
                    *bottom = bottom.max(number(1));
                }
            }
            "f" | "f*" => {
                if parts.len() > best.len() {
                    best.clone_from(&parts);
                }
                parts.clear();
            }
            "S" | "B" | "n" | "c" => parts.clear(),
            _ => {}
        }
    }
    best
}

#[test]
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "pixels of a small picture"
)]
fn qr_code_in_the_file_reads_as_the_id() {
    for (name, work) in samples::all() {
        let (_, file) = file(&work);
        let modules = code_modules(&file);
        let left = modules.iter().map(|m| m[0]).fold(f32::INFINITY, f32::min);
        let top = modules.iter().map(|m| m[1]).fold(f32::INFINITY, f32::min);
        // Six pixels a point is finer than any module; the quiet zone is white.
        let pixel = |value: f32, from: f32| (value - from) * 6.0 + 60.0;
        let side = 640;
        let mut image = vec![255_u8; side * side];
        let column = |value: f32, from| pixel(value, from).round() as usize;
        for [x1, y1, x2, y2] in modules {
            for row in column(y1, top)..column(y2, top) {
                let from = row * side;
                image[from + column(x1, left)..from + column(x2, left)].fill(0);
            }
        }
        let mut prepared =
            rqrr::PreparedImage::prepare_from_greyscale(side, side, |x, y| image[y * side + x]);
        let grids = prepared.detect_grids();
        assert_eq!(grids.len(), 1, "{name}");
        let (_, read) = grids[0].decode().unwrap();
        assert_eq!(read, work.opened.at.id.to_string(), "{name}");
    }
}
