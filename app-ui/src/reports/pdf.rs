//! A laid-out document as a PDF/A-2a file: tagged, text kept as text, both faces embedded.
//!
//! Same layout, same bytes: no clock and no random numbers. The library's own validator is always
//! on, so that a file that would not keep to the standard is not written at all.

use std::collections::BTreeMap;
use std::num::{NonZeroU16, NonZeroU32};

use chrono::{DateTime, Datelike as _, FixedOffset, Timelike as _};
use krilla::color::rgb;
use krilla::configure::{Archival, ConfigurationBuilder};
use krilla::geom::{Path, PathBuilder, Point};
use krilla::metadata::{DateTime as PdfDate, Metadata};
use krilla::page::PageSettings;
use krilla::paint::{Fill, LineCap, Paint, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::tagging::{
    Artifact, ArtifactType, ContentTag, Identifier, SpanTag, TableHeaderScope, Tag, TagGroup,
    TagTree,
};
use krilla::text::{Font, GlyphId, KrillaGlyph};
use krilla::{Data, SerializeSettings};

use super::ReportError;
use super::document::{Dated, Document};
use super::face::{BOLD, REGULAR, Run, Weight};
use super::layout::{Element, Layout, PAGE_HEIGHT, PAGE_WIDTH};
use super::marks::{Drawn, Ink, Mark, Outline, Part, Pen, Segment};

/// The language of every document, RFC 3066.
const LANGUAGE: &str = "en-GB";

/// Both faces as the library wants them.
struct Fonts {
    regular: Font,
    bold: Font,
}

/// What belongs to each element, in order of element.
type Parts = BTreeMap<usize, Vec<Identifier>>;

/// Writes a document.
///
/// # Errors
/// [`ReportError::Typeface`], and [`ReportError::Pdf`] when the library refuses to write a file that
/// would break the standard.
pub fn write(document: &Document, layout: &Layout) -> Result<Vec<u8>, ReportError> {
    let configuration = ConfigurationBuilder::new()
        .with_archival_validator(Archival::A2_A)
        .finish()
        .map_err(|error| ReportError::pdf(&format!("{error:?}")))?;
    let settings = SerializeSettings {
        configuration,
        enable_tagging: true,
        ..SerializeSettings::default()
    };
    let fonts = Fonts {
        regular: font(REGULAR)?,
        bold: font(BOLD)?,
    };
    let mut pdf = krilla::Document::new_with(settings);
    let mut parts = Parts::new();
    for marks in &layout.pages {
        let size = PageSettings::from_wh(PAGE_WIDTH, PAGE_HEIGHT)
            .ok_or_else(|| ReportError::pdf("page size"))?;
        let mut page = pdf.start_page_with(size);
        let mut surface = page.surface();
        draw_page(&mut surface, marks, &fonts, &mut parts);
        surface.finish();
        page.finish();
    }
    pdf.set_tag_tree(tree(&layout.elements, &mut parts));
    pdf.set_metadata(metadata(document));
    pdf.finish()
        .map_err(|error| ReportError::pdf(&format!("{error}: {error:?}")))
}

fn font(bytes: &'static [u8]) -> Result<Font, ReportError> {
    Font::new(Data::from(bytes), 0).ok_or(ReportError::Typeface)
}

fn metadata(document: &Document) -> Metadata {
    let program = concat!("Winze ", env!("CARGO_PKG_VERSION"));
    let metadata = Metadata::new()
        .title(format!("{}, {}", document.title, document.opening.subject))
        .description(document.about.clone())
        .language(LANGUAGE.to_owned())
        .creator(program.to_owned())
        .producer(program.to_owned())
        .document_id(format!(
            "{}:{}:{}",
            document.title, document.id_of, document.id
        ));
    metadata.creation_date(date(document.dated))
}

/// The moment in its zone; a moment far outside the calendar comes to 1970.
fn date(dated: Dated) -> PdfDate {
    let minutes = dated.utc_offset_minutes.clamp(-23 * 60, 23 * 60);
    let zone = FixedOffset::east_opt(i32::from(minutes) * 60);
    let utc = DateTime::from_timestamp_millis(dated.wall_ms).unwrap_or(DateTime::UNIX_EPOCH);
    let small = |number: u32| u8::try_from(number).unwrap_or(0);
    let put = |moment: chrono::NaiveDateTime| {
        PdfDate::new(u16::try_from(moment.year()).unwrap_or(1970))
            .month(small(moment.month()))
            .day(small(moment.day()))
            .hour(small(moment.hour()))
            .minute(small(moment.minute()))
            .second(small(moment.second()))
    };
    match zone {
        Some(zone) => put(utc.with_timezone(&zone).naive_local())
            .utc_offset_hour(i8::try_from(minutes / 60).unwrap_or(0))
            .utc_offset_minute(small(u32::from((minutes % 60).unsigned_abs()))),
        None => put(utc.naive_utc()).utc_offset_hour(0),
    }
}

fn draw_page(surface: &mut Surface<'_>, marks: &[Mark], fonts: &Fonts, parts: &mut Parts) {
    let mut rest = marks;
    while let Some(first) = rest.first() {
        // Neighbours that belong together are one piece of content.
        let length = rest.iter().take_while(|mark| mark.part == first.part);
        let (group, others) = rest.split_at(length.count());
        let is_text = group
            .iter()
            .all(|mark| matches!(mark.drawn, Drawn::Text { .. }));
        let tag = match first.part {
            Part::Furniture => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)),
            Part::Element(_) if is_text => ContentTag::Span(SpanTag::empty()),
            Part::Element(_) => ContentTag::Other,
        };
        let identifier = surface.start_tagged(tag);
        for mark in group {
            draw(surface, &mark.drawn, fonts);
        }
        surface.end_tagged();
        if let Part::Element(element) = first.part {
            parts.entry(element).or_default().push(identifier);
        }
        rest = others;
    }
}

fn draw(surface: &mut Surface<'_>, drawn: &Drawn, fonts: &Fonts) {
    match drawn {
        Drawn::Text { x, y, run, ink } => {
            surface.set_stroke(None);
            surface.set_fill(Some(fill(*ink)));
            text(surface, *x, *y, run, fonts);
        }
        Drawn::Shape {
            outline,
            fill: inside,
            pen,
        } => {
            if let Some(path) = path(outline) {
                surface.set_fill(inside.map(fill));
                surface.set_stroke(pen.map(stroke));
                surface.draw_path(&path);
            }
        }
    }
}

fn text(surface: &mut Surface<'_>, x: f32, y: f32, run: &Run, fonts: &Fonts) {
    let font = match run.weight {
        Weight::Regular => &fonts.regular,
        Weight::Bold => &fonts.bold,
    };
    let glyphs: Vec<KrillaGlyph> = run
        .glyphs
        .iter()
        .map(|glyph| KrillaGlyph {
            glyph_id: GlyphId::new(glyph.id),
            text_range: glyph.range.clone(),
            x_advance: glyph.advance,
            x_offset: glyph.right,
            y_offset: glyph.up,
            y_advance: 0.0,
            location: None,
        })
        .collect();
    let at = Point::from_xy(x, y);
    surface.draw_glyphs(at, &glyphs, font.clone(), &run.text, run.size, false);
}

fn paint(ink: Ink) -> Paint {
    let [red, green, blue] = ink.rgb();
    rgb::Color::new(red, green, blue).into()
}

fn fill(ink: Ink) -> Fill {
    Fill {
        paint: paint(ink),
        ..Fill::default()
    }
}

fn stroke(pen: Pen) -> Stroke {
    Stroke {
        paint: paint(pen.ink),
        width: pen.width,
        line_cap: LineCap::Butt,
        dash: pen.dash.map(|[dash, gap]| StrokeDash {
            array: vec![dash, gap],
            offset: 0.0,
        }),
        ..Stroke::default()
    }
}

fn path(outline: &Outline) -> Option<Path> {
    let mut builder = PathBuilder::new();
    for segment in &outline.0 {
        match *segment {
            Segment::Move(x, y) => builder.move_to(x, y),
            Segment::Line(x, y) => builder.line_to(x, y),
            Segment::Curve([x1, y1, x2, y2, x, y]) => builder.cubic_to(x1, y1, x2, y2, x, y),
            Segment::Close => builder.close(),
        }
    }
    builder.finish()
}

/// The elements as a tree: cells in rows, rows in tables.
fn tree(elements: &[Element], parts: &mut Parts) -> TagTree {
    let mut tree = TagTree::new().with_lang(Some(LANGUAGE.to_owned()));
    let mut open: Option<(usize, Vec<(usize, TagGroup)>)> = None;
    for (index, element) in elements.iter().enumerate() {
        let mut children = parts.remove(&index).unwrap_or_default();
        let Element::Cell {
            table,
            row,
            is_head,
            span,
        } = element
        else {
            close(&mut tree, open.take());
            if let Some(group) = group(element, &mut children) {
                tree.push(group);
            }
            continue;
        };
        if open.as_ref().is_none_or(|(number, _)| number != table) {
            close(&mut tree, open.take());
            open = Some((*table, Vec::new()));
        }
        let span = NonZeroU32::new(*span).filter(|span| span.get() > 1);
        let mut cell = if *is_head {
            TagGroup::new(Tag::TH(TableHeaderScope::Column).with_col_span(span))
        } else {
            TagGroup::new(Tag::TD.with_col_span(span))
        };
        children.drain(..).for_each(|child| cell.push(child));
        if let Some((_, rows)) = &mut open {
            if rows.last().is_none_or(|(number, _)| number != row) {
                rows.push((*row, TagGroup::new(Tag::TR)));
            }
            if let Some((_, tags)) = rows.last_mut() {
                tags.push(cell);
            }
        }
    }
    close(&mut tree, open);
    tree
}

fn close(tree: &mut TagTree, table: Option<(usize, Vec<(usize, TagGroup)>)>) {
    if let Some((_, rows)) = table {
        let mut group = TagGroup::new(Tag::Table);
        for (_, row) in rows {
            group.push(row);
        }
        tree.push(group);
    }
}

fn group(element: &Element, children: &mut Vec<Identifier>) -> Option<TagGroup> {
    // An element with nothing on any page says nothing.
    if children.is_empty() {
        return None;
    }
    let mut group = match element {
        Element::Heading { level, text } => {
            let level = NonZeroU16::new(*level).unwrap_or(NonZeroU16::MIN);
            TagGroup::new(Tag::Hn(level, Some(text.clone())))
        }
        Element::Figure { alt } => TagGroup::new(Tag::Figure(Some(alt.clone()))),
        Element::Paragraph | Element::Cell { .. } => TagGroup::new(Tag::P),
    };
    children.drain(..).for_each(|child| group.push(child));
    Some(group)
}
