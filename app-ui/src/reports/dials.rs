//! Dials side by side: the same faces as on the tablet, with a broken needle as found and a solid
//! one as left.

use super::face::{Faces, Type};
use super::figures::{Dial, Shown};
use super::marks::{Ink, Mark, Outline, Part, Pen};
use super::paint::{count, points};
use crate::messages::reports as words;
use crate::presenters::dial::Scale;

/// Side of the square the tablet's paths are drawn on.
const SQUARE: f32 = 200.0;

/// Diameter of a dial, points.
const DIAMETER: f32 = 112.0;
/// From the upper edge to the dial: its title stands there.
const ABOVE: f32 = 17.0;
/// What stands below a dial: two lines of a legend.
const BELOW: f32 = 16.0;

/// How high the row of dials is at this scale.
#[must_use]
pub fn height(scale: f32) -> f32 {
    (ABOVE + DIAMETER + BELOW) * scale
}

/// Paints the dials from the upper left corner of their row.
#[must_use]
pub fn paint(faces: &Faces, dials: &[Dial], part: Part, width: f32, scale: f32) -> Vec<Mark> {
    let share = width / count(dials.len().max(1));
    let mut marks = Vec::new();
    // What was read at no gauge at all needs no legend.
    let has = [
        dials.iter().any(|dial| dial.found.is_some()),
        dials.iter().any(|dial| dial.left.is_some()),
    ];
    for (index, dial) in dials.iter().enumerate() {
        let middle = share * (count(index) + 0.5);
        marks.extend(one(faces, dial, part, (middle, share), has, scale));
    }
    marks
}

fn one(
    faces: &Faces,
    dial: &Dial,
    part: Part,
    (x, room): (f32, f32),
    has: [bool; 2],
    scale: f32,
) -> Vec<Mark> {
    let Dial { title, unit, .. } = dial;
    let mut marks = Vec::new();
    let title = faces.set(&format!("{title}, {unit}"), Type::bold(9.0 * scale));
    let left = x - title.width / 2.0;
    marks.push(Mark::text(part, left, 9.0 * scale, title, Ink::Black));
    let y = (ABOVE + DIAMETER / 2.0) * scale;
    marks.extend(face(faces, dial, part, (x, y), scale));
    let needles = [(&dial.left, true), (&dial.found, false)];
    // The solid needle lies under the broken one, so that both are seen where they agree.
    for (shown, is_left) in needles {
        if let Some(shown) = shown {
            marks.extend(needle(dial, shown, part, (x, y), scale, is_left));
        }
    }
    marks.push(Mark::fill(
        part,
        Outline::circle(x, y, 3.4 * scale),
        Ink::Black,
    ));
    let lines = [
        (&dial.found, false, words::AS_FOUND),
        (&dial.left, true, words::AS_LEFT),
    ];
    let mut foot = (ABOVE + DIAMETER * 0.86 + 10.0) * scale;
    for (shown, is_left, word) in lines {
        if !has[usize::from(is_left)] {
            continue;
        }
        let value = shown.as_ref().map_or(words::NOT_READ, |shown| &shown.text);
        marks.extend(legend(
            faces,
            part,
            (x, foot),
            room,
            scale,
            is_left,
            &format!("{word} {value}"),
        ));
        foot += 12.0 * scale;
    }
    marks
}

/// Scale, marks, numerals and the band.
fn face(faces: &Faces, dial: &Dial, part: Part, at: (f32, f32), scale: f32) -> Vec<Mark> {
    let size = DIAMETER * scale / SQUARE;
    let drawn = scale_of(dial).face(dial.band);
    let to_page = |x: f32, y: f32| {
        let middle = SQUARE / 2.0;
        (at.0 + (x - middle) * size, at.1 + (y - middle) * size)
    };
    let mut marks = Vec::new();
    // The band lies inside the rim, where a needle points into it.
    for arc in arcs(&drawn.band) {
        let band = Outline::arc(at.0, at.1, 84.0 * size, arc.0, arc.1);
        marks.push(Mark::stroke(part, band, Pen::solid(Ink::Hair, 16.0 * size)));
    }
    for arc in arcs(&drawn.scale) {
        let rim = Outline::arc(at.0, at.1, 92.0 * size, arc.0, arc.1);
        marks.push(Mark::stroke(part, rim, Pen::solid(Ink::Black, 0.7 * scale)));
    }
    for (path, width) in [(&drawn.minor, 0.4), (&drawn.major, 1.0)] {
        let mut outline = Outline::default();
        for [x1, y1, x2, y2] in lines(path) {
            let ((x1, y1), (x2, y2)) = (to_page(x1, y1), to_page(x2, y2));
            outline.add(Outline::line(x1, y1, x2, y2));
        }
        if !outline.0.is_empty() {
            marks.push(Mark::stroke(
                part,
                outline,
                Pen::solid(Ink::Black, width * scale),
            ));
        }
    }
    for numeral in drawn.numerals {
        let run = faces.set(&numeral.text, Type::regular(7.2 * scale));
        let (x, y) = to_page(points(numeral.x), points(numeral.y));
        let left = x - run.width / 2.0;
        marks.push(Mark::text(part, left, y + 0.25 * run.size, run, Ink::Black));
    }
    marks
}

fn needle(
    dial: &Dial,
    shown: &Shown,
    part: Part,
    (x, y): (f32, f32),
    scale: f32,
    is_left: bool,
) -> Vec<Mark> {
    let degrees = points(scale_of(dial).needle_degrees(shown.value));
    // A dial without a scale has no place for a needle.
    let has_scale = dial.high > dial.low && dial.division > 0.0;
    if !degrees.is_finite() || !has_scale {
        return Vec::new();
    }
    let (sin, cos) = degrees.to_radians().sin_cos();
    let radius = DIAMETER * scale / 2.0;
    let far = radius * if is_left { 0.82 } else { 0.90 };
    let line = Outline::line(x, y, x + far * sin, y - far * cos);
    if is_left {
        // Broad at the hub and thin where numerals stand.
        let half = 2.3 * scale;
        let body = Outline::polygon(&[
            (x - half * cos, y - half * sin),
            (x + far * sin, y - far * cos),
            (x + half * cos, y + half * sin),
        ]);
        let edge = Pen::solid(Ink::Black, 0.5 * scale);
        vec![Mark::shape(part, body, Some(Ink::Black), Some(edge))]
    } else {
        // A white edge keeps the broken needle apart from the solid one under it.
        let edge = Pen::solid(Ink::White, 2.4 * scale);
        vec![
            Mark::stroke(part, line.clone(), edge),
            Mark::stroke(part, line, needle_pen(false, scale)),
        ]
    }
}

const fn needle_pen(is_left: bool, scale: f32) -> Pen {
    if is_left {
        Pen::solid(Ink::Black, 2.2 * scale)
    } else {
        Pen::broken(Ink::Black, 1.2 * scale, 3.2 * scale, 1.8 * scale)
    }
}

/// A piece of the needle and what it shows, both in the middle; smaller where the room is little.
fn legend(
    faces: &Faces,
    part: Part,
    (x, y): (f32, f32),
    room: f32,
    scale: f32,
    is_left: bool,
    text: &str,
) -> Vec<Mark> {
    let (piece, gap) = (14.0 * scale, 4.0 * scale);
    let whole = faces.set(text, Type::regular(8.4 * scale));
    let fits = (room - 8.0 - piece - gap) / whole.width.max(1.0);
    let run = faces.set(text, Type::regular(8.4 * scale * fits.min(1.0)));
    let left = x - (piece + gap + run.width) / 2.0;
    let line = Outline::line(left, y - 2.6 * scale, left + piece, y - 2.6 * scale);
    vec![
        Mark::stroke(part, line, needle_pen(is_left, scale)),
        Mark::text(part, left + piece + gap, y, run, Ink::Black),
    ]
}

const fn scale_of(dial: &Dial) -> Scale {
    Scale {
        low: dial.low,
        high: dial.high,
        division: dial.division,
    }
}

/// The straight lines of a path: each a move and a line.
fn lines(path: &str) -> Vec<[f32; 4]> {
    let mut found = Vec::new();
    let mut words = path.split_whitespace();
    let mut from = None;
    while let Some(word) = words.next() {
        let mut point = || Some((words.next()?.parse().ok()?, words.next()?.parse().ok()?));
        match word {
            "M" => from = point(),
            "L" => {
                if let (Some((x1, y1)), Some((x2, y2))) = (from, point()) {
                    found.push([x1, y1, x2, y2]);
                }
            }
            _ => {}
        }
    }
    found
}

/// The arcs of a path around the middle of its square, as angles clockwise from twelve o'clock.
fn arcs(path: &str) -> Vec<(f32, f32)> {
    let mut found = Vec::new();
    let words: Vec<&str> = path.split_whitespace().collect();
    let number = |index: usize| words.get(index).and_then(|word| word.parse::<f32>().ok());
    for (index, word) in words.iter().enumerate() {
        // M x y A radius radius rotation large sweep x y
        if *word != "A" || index < 3 {
            continue;
        }
        let ends = (
            number(index - 2).zip(number(index - 1)),
            number(index + 6).zip(number(index + 7)),
        );
        if let (Some(from), Some(to)) = ends {
            let (from, mut to) = (angle(from), angle(to));
            if to < from {
                to += 360.0;
            }
            found.push((from, to));
        }
    }
    found
}

fn angle((x, y): (f32, f32)) -> f32 {
    let middle = SQUARE / 2.0;
    (x - middle).atan2(middle - y).to_degrees()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_of_the_tablet_are_read_back() {
        let scale = Scale {
            low: 0.0,
            high: 16.0,
            division: 0.5,
        };
        let face = scale.face(Some((8.0, 12.0)));
        assert_eq!(lines(&face.major).len(), face.numerals.len());
        assert_eq!(lines(&face.major).len() + lines(&face.minor).len(), 33);
        let [(from, to)] = arcs(&face.scale)[..] else {
            panic!("one arc")
        };
        assert!((from + 135.0).abs() < 0.1 && (to - 135.0).abs() < 0.1);
        let [(from, to)] = arcs(&face.band)[..] else {
            panic!("one arc")
        };
        assert!((from - 0.0).abs() < 0.1 && (to - 67.5).abs() < 0.1);
    }
}
