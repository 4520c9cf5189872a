//! The typeface: turns text into glyphs at their places, and so knows how wide it is.
//!
//! Atkinson Hyperlegible, embedded. What it has no glyph for is written by its number, `{U+0416}`,
//! so that a name in another script is kept and can be looked up; nothing is dropped.

use std::fmt::Write as _;
use std::ops::Range;

use harfrust::{Direction, Feature, FontRef, ShapeOptions, ShaperData, Tag, UnicodeBuffer, script};

use super::ReportError;

/// The regular face, as a font file.
pub const REGULAR: &[u8] = include_bytes!("../../fonts/AtkinsonHyperlegible_400Regular.ttf");
/// The bold face, as a font file.
pub const BOLD: &[u8] = include_bytes!("../../fonts/AtkinsonHyperlegible_700Bold.ttf");

/// A width below which nothing can be seen, points.
pub const SMALLEST: f32 = 0.01;

/// Which of the two faces.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// For reading.
    Regular,
    /// For titles and values that matter.
    Bold,
}

/// A face at a size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Type {
    /// Which face.
    pub weight: Weight,
    /// Its size, points.
    pub size: f32,
}

impl Type {
    /// The regular face.
    #[must_use]
    pub const fn regular(size: f32) -> Self {
        let weight = Weight::Regular;
        Self { weight, size }
    }

    /// The bold face.
    #[must_use]
    pub const fn bold(size: f32) -> Self {
        let weight = Weight::Bold;
        Self { weight, size }
    }

    /// From one base line to the next.
    #[must_use]
    pub fn leading(self) -> f32 {
        self.size * 1.34
    }
}

/// A glyph; lengths as shares of the size.
#[derive(Debug, Clone, PartialEq)]
pub struct Glyph {
    /// Its number in the font.
    pub id: u32,
    /// The bytes of the text that it shows.
    pub range: Range<usize>,
    /// How far the next one stands.
    pub advance: f32,
    /// How far it is moved to the right.
    pub right: f32,
    /// How far it is moved up.
    pub up: f32,
}

/// Text as it stands on a line.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// The face.
    pub weight: Weight,
    /// Its size, points.
    pub size: f32,
    /// The text.
    pub text: String,
    /// Its glyphs.
    pub glyphs: Vec<Glyph>,
    /// How wide it is, points.
    pub width: f32,
}

/// Both faces.
pub struct Faces {
    regular: Face,
    bold: Face,
}

struct Face {
    font: FontRef<'static>,
    data: ShaperData,
}

impl Faces {
    /// Reads the embedded faces.
    ///
    /// # Errors
    /// [`ReportError::Typeface`], which a program built from sound font files never meets.
    pub fn load() -> Result<Self, ReportError> {
        Ok(Self {
            regular: Face::load(REGULAR)?,
            bold: Face::load(BOLD)?,
        })
    }

    /// Sets text; figures are all equally wide, so that columns of them line up.
    #[must_use]
    pub fn set(&self, text: &str, as_type: Type) -> Run {
        let face = match as_type.weight {
            Weight::Regular => &self.regular,
            Weight::Bold => &self.bold,
        };
        let (text, glyphs) = face.set(&plain(text));
        let advance: f32 = glyphs.iter().map(|glyph| glyph.advance).sum();
        Run {
            weight: as_type.weight,
            size: as_type.size,
            text,
            glyphs,
            width: advance * as_type.size,
        }
    }

    /// How wide text would be.
    #[must_use]
    pub fn width(&self, text: &str, as_type: Type) -> f32 {
        self.set(text, as_type).width
    }

    /// Breaks text into lines no wider than `width`: at spaces, and inside a word only where the
    /// word alone is too wide. Always at least one line.
    #[must_use]
    pub fn wrap(&self, text: &str, as_type: Type, width: f32) -> Vec<Run> {
        let mut lines = Vec::new();
        for paragraph in text.split('\n') {
            // Numbers stand for letters before lines are broken: they need more room.
            let written = self.set(paragraph, as_type).text;
            self.wrap_paragraph(&written, as_type, width, &mut lines);
        }
        lines
    }

    fn wrap_paragraph(&self, text: &str, as_type: Type, width: f32, lines: &mut Vec<Run>) {
        let space = self.width(" ", as_type);
        let (mut line, mut reached) = (String::new(), 0.0);
        for word in text.split(' ').filter(|word| !word.is_empty()) {
            for part in self.fitting(word, as_type, width) {
                let part_width = self.width(&part, as_type);
                let gap = if line.is_empty() { 0.0 } else { space };
                if !line.is_empty() && reached + gap + part_width > width {
                    lines.push(self.set(&line, as_type));
                    line.clear();
                    reached = 0.0;
                } else if !line.is_empty() {
                    line.push(' ');
                    reached += space;
                }
                line.push_str(&part);
                reached += part_width;
            }
        }
        lines.push(self.set(&line, as_type));
    }

    /// A word, or its pieces where it alone is wider than a line.
    fn fitting(&self, word: &str, as_type: Type, width: f32) -> Vec<String> {
        if self.width(word, as_type) <= width {
            return vec![word.to_owned()];
        }
        let mut parts = vec![String::new()];
        for letter in word.chars() {
            let Some(last) = parts.last_mut() else { break };
            last.push(letter);
            if last.chars().count() > 1 && self.width(last, as_type) > width {
                last.pop();
                parts.push(letter.to_string());
            }
        }
        parts
    }
}

impl Face {
    fn load(bytes: &'static [u8]) -> Result<Self, ReportError> {
        let font = FontRef::from_index(bytes, 0).map_err(|_| ReportError::Typeface)?;
        let data = ShaperData::new(&font);
        Ok(Self { font, data })
    }

    /// The text as it is really written, and its glyphs.
    fn set(&self, text: &str) -> (String, Vec<Glyph>) {
        let glyphs = self.shape(text);
        let lacking = |start: usize| {
            glyphs
                .iter()
                .any(|glyph| glyph.id == 0 && glyph.range.start == start)
        };
        if !glyphs.iter().any(|glyph| glyph.id == 0) {
            return (text.to_owned(), glyphs);
        }
        let mut written = String::with_capacity(text.len() * 2);
        let mut is_lacking = false;
        for (start, letter) in text.char_indices() {
            // A cluster of several characters lacks a glyph as a whole.
            let starts_cluster = glyphs.iter().any(|glyph| glyph.range.start == start);
            is_lacking = if starts_cluster {
                lacking(start)
            } else {
                is_lacking
            };
            if is_lacking && letter != ' ' {
                // Writing to a text cannot fail.
                let _ = write!(written, "{{U+{:04X}}}", u32::from(letter));
            } else {
                written.push(letter);
            }
        }
        let glyphs = self.shape(&written);
        (written, glyphs)
    }

    fn shape(&self, text: &str) -> Vec<Glyph> {
        let shaper = self.data.shaper(&self.font).build();
        // Glyph lengths are whole numbers of a thousandth or so of the size.
        let per_em = f32::from(u16::try_from(shaper.units_per_em()).unwrap_or(1000));
        let share = |units: i32| f32::from(i16::try_from(units).unwrap_or(i16::MAX)) / per_em;
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(text);
        buffer.set_direction(Direction::LeftToRight);
        buffer.set_script(script::LATIN);
        let features = [Feature::new(Tag::new(b"tnum"), 1, ..)];
        let glyphs = shaper.shape(buffer, ShapeOptions::new().features(&features));
        let infos = glyphs.glyph_infos();
        let starts: Vec<usize> = infos
            .iter()
            .map(|info| usize::try_from(info.cluster).unwrap_or(0))
            .collect();
        let end_of = |start: usize| {
            let next = starts.iter().copied().filter(|&other| other > start).min();
            next.unwrap_or(text.len())
        };
        infos
            .iter()
            .zip(glyphs.glyph_positions())
            .zip(&starts)
            .map(|((info, position), &start)| Glyph {
                id: info.glyph_id,
                range: start..end_of(start),
                advance: share(position.x_advance),
                right: share(position.x_offset),
                up: share(position.y_offset),
            })
            .collect()
    }
}

/// Text without what no line can hold: control characters become spaces, and what has no width and
/// no shape of its own goes.
fn plain(text: &str) -> String {
    text.chars()
        .filter(|letter| !matches!(letter, '\u{feff}' | '\u{fffe}' | '\u{200b}'..='\u{200f}'))
        .map(|letter| if letter.is_control() { ' ' } else { letter })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn faces() -> Faces {
        Faces::load().unwrap()
    }

    #[test]
    fn figures_are_equally_wide() {
        let faces = faces();
        let width = |text| faces.width(text, Type::regular(10.0));
        assert!((width("1111") - width("0888")).abs() < 0.01);
        assert!(width("i") < width("m"));
    }

    #[test]
    fn lines_are_no_wider_than_asked_and_lose_nothing() {
        let faces = faces();
        let text =
            "the gland of the downstream valve drips and pneumonoultramicroscopicsilicovolcano";
        for width in [30.0, 62.0, 120.0, 400.0] {
            let lines = faces.wrap(text, Type::regular(10.0), width);
            assert!(
                lines.iter().all(|line| line.width <= width + 0.5),
                "{width}"
            );
            let joined: String = lines
                .iter()
                .map(|line| line.text.replace(' ', ""))
                .collect();
            assert_eq!(joined, text.replace(' ', ""));
        }
        assert_eq!(faces.wrap("", Type::regular(10.0), 50.0).len(), 1);
    }

    #[test]
    fn what_has_no_glyph_is_kept_by_its_number() {
        let faces = faces();
        let set = |text| faces.set(text, Type::regular(10.0));
        assert_eq!(set("Łukasz Žižka").text, "Łukasz Žižka");
        assert_eq!(set("Жук").text, "{U+0416}{U+0443}{U+043A}");
        assert_eq!(set("a\u{7}b\u{feff}").text, "a b");
        for text in ["Жук", "e\u{301}", "👷 Ada", "\u{5d0}\u{5d1}"] {
            assert!(set(text).glyphs.iter().all(|glyph| glyph.id != 0), "{text}");
        }
    }
}
