//! Charts: turns of the screw against pressure, and pressures over time.
//!
//! States are told by shape as well as by tone, so that a black-and-white print says the same.

use super::face::{Faces, Type};
use super::figures::{History, Standing, Strip, Turns, Visit};
use super::marks::{Bounds, Ink, Mark, Outline, Part, Pen};
use super::paint::{Ticks, count, diamond, points};

/// Height of the chart of turns, points.
const TURNS_HEIGHT: f32 = 208.0;
/// Height of one strip of the history.
const STRIP_HEIGHT: f32 = 82.0;
/// What stands below the strips: days.
const DAYS_HEIGHT: f32 = 14.0;
/// What stands above the strips: the name of the line of the work.
const WORK_HEIGHT: f32 = 14.0;
/// Width left of a plot: values of its scale.
const SIDE: f32 = 40.0;
/// Width right of a plot: labels of the band.
const LABELS: f32 = 74.0;

/// How high the chart of turns is.
#[must_use]
pub fn turns_height(scale: f32) -> f32 {
    TURNS_HEIGHT * scale
}

/// How high the history is.
#[must_use]
pub fn history_height(history: &History, scale: f32) -> f32 {
    (WORK_HEIGHT + STRIP_HEIGHT * count(history.strips.len()) + DAYS_HEIGHT) * scale
}

/// A plot: where it stands and what its edges mean.
struct Plot<'a> {
    faces: &'a Faces,
    part: Part,
    scale: f32,
    area: Bounds,
    across: (f64, f64),
    up: (f64, f64),
    marks: Vec<Mark>,
    /// Where a text may no more stand.
    taken: Vec<Bounds>,
}

impl Plot<'_> {
    fn x(&self, value: f64) -> f32 {
        let share = (value - self.across.0) / (self.across.1 - self.across.0);
        self.area.left + points(share.clamp(-0.02, 1.02)) * (self.area.right - self.area.left)
    }

    fn y(&self, value: f64) -> f32 {
        let share = (value - self.up.0) / (self.up.1 - self.up.0);
        self.area.bottom - points(share.clamp(-0.02, 1.02)) * (self.area.bottom - self.area.top)
    }

    fn stroke(&mut self, outline: Outline, pen: Pen) {
        self.marks.push(Mark::stroke(self.part, outline, pen));
    }

    fn label(&self) -> Type {
        Type::regular(7.4 * self.scale)
    }

    /// The ground of a band between two values, with broken edges.
    fn band(&mut self, low: f64, high: f64) {
        let Bounds {
            left,
            right,
            top,
            bottom,
            ..
        } = self.area;
        let (upper, lower) = (self.y(high).max(top), self.y(low).min(bottom));
        if lower <= upper {
            return;
        }
        let ground = Outline::rect(left, upper, right - left, lower - upper);
        self.marks.push(Mark::fill(self.part, ground, Ink::Pale));
        for y in [upper, lower] {
            let pen = Pen::broken(Ink::Quiet, 0.5 * self.scale, 2.0, 2.0);
            self.stroke(Outline::line(left, y, right, y), pen);
        }
    }

    /// Values along the left edge, with a hairline each.
    fn side(&mut self, ticks: &Ticks) {
        let hair = Pen::solid(Ink::Hair, 0.3 * self.scale);
        for value in ticks.values() {
            let y = self.y(value);
            self.stroke(Outline::line(self.area.left, y, self.area.right, y), hair);
            let run = self.faces.set(&ticks.text(value), self.label());
            let x = self.area.left - 5.0 * self.scale - run.width;
            let base = y + 0.25 * run.size;
            self.marks
                .push(Mark::text(self.part, x, base, run, Ink::Quiet));
        }
    }

    /// Left and lower edge.
    fn axes(&mut self) {
        let Bounds {
            left,
            top,
            right,
            bottom,
        } = self.area;
        let corner = Outline::through(&[(left, top), (left, bottom), (right, bottom)]);
        self.stroke(corner, Pen::solid(Ink::Black, 0.7 * self.scale));
    }

    /// Writes a text that starts here.
    fn write(&mut self, x: f32, y: f32, text: &str, as_type: Type, ink: Ink) {
        let run = self.faces.set(text, as_type);
        self.marks.push(Mark::text(self.part, x, y, run, ink));
    }

    /// Writes a small number near a point where nothing else stands, or leaves it out.
    fn number(&mut self, x: f32, y: f32, text: &str, must: bool) {
        let run = self.faces.set(text, self.label());
        let off = 4.6 * self.scale;
        let (width, size) = (run.width, run.size);
        let places = [
            (x + off, y - off + 1.0),
            (x + off, y + off + 0.5 * size),
            (x - off - width, y - off + 1.0),
            (x - off - width, y + off + 0.5 * size),
            (x - width / 2.0, y - off - 1.5),
            (x - width / 2.0, y + off + 0.8 * size),
        ];
        let mut best = None;
        for (left, base) in places {
            let mark = Mark::text(self.part, left, base, run.clone(), Ink::Black);
            let bounds = mark.bounds();
            let is_inside = bounds.left >= self.area.left
                && bounds.right <= self.area.right + 3.0
                && bounds.top >= self.area.top - 8.0
                && bounds.bottom <= self.area.bottom;
            if is_inside && !self.taken.iter().any(|taken| taken.overlaps(&bounds)) {
                best = Some((mark, bounds));
                break;
            }
            if must && is_inside && best.is_none() {
                best = Some((mark, bounds));
            }
        }
        if let Some((mark, bounds)) = best {
            self.taken.push(bounds);
            self.marks.push(mark);
        }
    }

    fn point(&mut self, x: f32, y: f32, standing: Standing) {
        let radius = 2.5 * self.scale;
        let ring = Outline::circle(x, y, radius);
        let pen = Pen::solid(Ink::Black, 0.9 * self.scale);
        let part = self.part;
        match standing {
            Standing::Within => {
                self.marks
                    .push(Mark::shape(part, ring, Some(Ink::White), Some(pen)));
            }
            Standing::Unsure => {
                let half = Outline::arc(x, y, radius, 180.0, 360.0).closed();
                self.marks
                    .push(Mark::shape(part, ring, Some(Ink::White), Some(pen)));
                self.marks.push(Mark::fill(part, half, Ink::Black));
            }
            Standing::Outside => {
                let shape = diamond(x, y, radius * 1.3);
                self.marks.push(Mark::fill(part, shape, Ink::Outside));
            }
            Standing::NotJudged => {
                let dot = Outline::circle(x, y, radius * 0.5);
                self.marks.push(Mark::fill(part, dot, Ink::Black));
            }
        }
        self.taken.push(Bounds {
            left: x - radius,
            top: y - radius,
            right: x + radius,
            bottom: y + radius,
        });
    }
}

/// Paints turns against pressure from the upper left corner.
#[must_use]
pub fn turns(faces: &Faces, chart: &Turns, part: Part, width: f32, scale: f32) -> Vec<Mark> {
    let (low, set, high) = chart.band;
    let range = |values: &mut dyn Iterator<Item = f64>| {
        values
            .filter(|value| value.is_finite())
            .fold(None, |range: Option<(f64, f64)>, value| {
                Some(range.map_or((value, value), |(low, high)| {
                    (low.min(value), high.max(value))
                }))
            })
    };
    let pressures = range(
        &mut chart
            .points
            .iter()
            .map(|point| point.pressure)
            .chain([low, high]),
    );
    let turned = range(&mut chart.points.iter().map(|point| point.turns));
    let (Some(pressures), Some(turned)) = (pressures, turned) else {
        return Vec::new();
    };
    let up = Ticks::around(pressures.0, pressures.1, 5.0);
    let across = Ticks::around(turned.0, turned.1, 7.0);
    let mut plot = Plot {
        faces,
        part,
        scale,
        area: Bounds {
            left: SIDE * scale,
            top: 20.0 * scale,
            right: width - LABELS * scale,
            bottom: turns_height(scale) - 44.0 * scale,
        },
        across: (across.first, across.last()),
        up: (up.first, up.last()),
        marks: Vec::new(),
        taken: Vec::new(),
    };
    plot.band(low, high);
    plot.side(&up);
    foot(&mut plot, &across, chart);
    set_point(&mut plot, chart, set);
    plot.axes();
    if let Some([from, to]) = chart.line {
        let ends = [from, to].map(|(x, y)| (plot.x(x), plot.y(y)));
        plot.stroke(
            Outline::through(&ends),
            Pen::broken(Ink::Black, 0.8 * scale, 4.0, 2.5),
        );
    }
    let places: Vec<(f32, f32)> = chart
        .points
        .iter()
        .map(|point| (plot.x(point.turns), plot.y(point.pressure)))
        .collect();
    plot.stroke(
        Outline::through(&places),
        Pen::solid(Ink::Quiet, 0.6 * scale),
    );
    for (point, &(x, y)) in chart.points.iter().zip(&places) {
        turns_point(&mut plot, x, y, point.is_usual_flow);
    }
    let last = places.len().saturating_sub(1);
    // The first and the last are numbered whatever else stands there, and before the others.
    let every = match places.len() {
        0..=14 => 1,
        15..=30 => 5,
        _ => 10,
    };
    let others = (1..last).filter(|index| (index + 1) % every == 0);
    let ends = [last, 0].into_iter().take(places.len().min(2));
    for index in ends.chain(others) {
        if let Some(&(x, y)) = places.get(index) {
            let is_end = index == 0 || index == last;
            plot.number(x, y, &(index + 1).to_string(), is_end);
        }
    }
    legend(&mut plot, chart);
    plot.marks
}

fn turns_point(plot: &mut Plot, x: f32, y: f32, is_filled: bool) {
    let (scale, part) = (plot.scale, plot.part);
    let radius = 2.4 * scale;
    let fill = if is_filled { Ink::Black } else { Ink::White };
    let pen = Pen::solid(Ink::Black, 0.9 * scale);
    let ring = Outline::circle(x, y, radius);
    plot.marks
        .push(Mark::shape(part, ring, Some(fill), Some(pen)));
    plot.taken.push(Bounds {
        left: x - radius,
        top: y - radius,
        right: x + radius,
        bottom: y + radius,
    });
}

/// Values along the foot and what they are.
fn foot(plot: &mut Plot, ticks: &Ticks, chart: &Turns) {
    let scale = plot.scale;
    let Bounds {
        left,
        right,
        bottom,
        ..
    } = plot.area;
    for value in ticks.values() {
        let x = plot.x(value);
        plot.stroke(
            Outline::line(x, bottom, x, bottom + 3.0 * scale),
            Pen::solid(Ink::Black, 0.6 * scale),
        );
        let run = plot.faces.set(&ticks.text(value), plot.label());
        let start = x - run.width / 2.0;
        plot.marks.push(Mark::text(
            plot.part,
            start,
            bottom + 11.0 * scale,
            run,
            Ink::Quiet,
        ));
    }
    let title = plot.faces.set(&chart.foot, plot.label());
    let start = f32::midpoint(left, right) - title.width / 2.0;
    plot.marks.push(Mark::text(
        plot.part,
        start,
        bottom + 22.0 * scale,
        title,
        Ink::Quiet,
    ));
    let (label, top) = (plot.label(), 9.0 * scale);
    plot.write(0.0, top, &chart.side, label, Ink::Quiet);
}

fn set_point(plot: &mut Plot, chart: &Turns, set: f64) {
    let scale = plot.scale;
    let y = plot.y(set);
    let (left, right) = (plot.area.left, plot.area.right);
    plot.stroke(
        Outline::line(left, y, right, y),
        Pen::solid(Ink::Black, 1.0 * scale),
    );
    let room = LABELS * scale - 6.0 * scale;
    let lines = plot.faces.wrap(&chart.band_label, plot.label(), room);
    let leading = plot.label().leading();
    let mut base = y + 0.25 * plot.label().size - leading * (count(lines.len()) - 1.0) / 2.0;
    for run in lines {
        let start = right + 6.0 * scale;
        plot.marks
            .push(Mark::text(plot.part, start, base, run, Ink::Black));
        base += leading;
    }
}

/// What filled and open points mean, below the foot.
fn legend(plot: &mut Plot, chart: &Turns) {
    let scale = plot.scale;
    let has_open = chart.points.iter().any(|point| !point.is_usual_flow);
    let has_filled = chart.points.iter().any(|point| point.is_usual_flow);
    let y = plot.area.bottom + 37.0 * scale;
    let mut x = plot.area.left;
    let [filled, open] = &chart.legend;
    for (is_shown, is_filled, text) in [(has_filled, true, filled), (has_open, false, open)] {
        if !is_shown {
            continue;
        }
        turns_point(plot, x + 3.0 * scale, y - 2.6 * scale, is_filled);
        let run = plot.faces.set(text, plot.label());
        let width = run.width;
        let start = x + 9.0 * scale;
        plot.marks
            .push(Mark::text(plot.part, start, y, run, Ink::Black));
        x = start + width + 16.0 * scale;
    }
}

/// Paints pressures over time from the upper left corner.
#[must_use]
pub fn history(faces: &Faces, chart: &History, part: Part, width: f32, scale: f32) -> Vec<Mark> {
    let mut across = (-1.0_f64, 1.0_f64);
    let days = chart.strips.iter().flat_map(|strip| &strip.visits);
    for day in days.map(|visit| visit.days).filter(|days| days.is_finite()) {
        across = (across.0.min(day), across.1.max(day));
    }
    // A little air at both ends, so that no point sits on an edge.
    let air = (across.1 - across.0) * 0.03;
    let across = (across.0 - air, across.1 + air);
    let mut marks = Vec::new();
    let mut work_x = None;
    for (index, strip) in chart.strips.iter().enumerate() {
        let top = (WORK_HEIGHT + STRIP_HEIGHT * count(index)) * scale;
        let mut plot = Plot {
            faces,
            part,
            scale,
            area: Bounds {
                left: SIDE * scale,
                top: top + 14.0 * scale,
                right: width - 2.0,
                bottom: top + STRIP_HEIGHT * scale - 10.0 * scale,
            },
            across,
            up: (0.0, 1.0),
            marks: Vec::new(),
            taken: Vec::new(),
        };
        one_strip(&mut plot, strip, top, &chart.unit);
        work_x = Some(plot.x(0.0));
        marks.append(&mut plot.marks);
        if index + 1 == chart.strips.len() {
            marks.extend(days_below(&plot, &chart.days));
        }
    }
    if let Some(x) = work_x {
        let bottom = (WORK_HEIGHT + STRIP_HEIGHT * count(chart.strips.len())) * scale;
        let line = Outline::line(x, (WORK_HEIGHT - 2.0) * scale, x, bottom - 10.0 * scale);
        marks.push(Mark::stroke(
            part,
            line,
            Pen::solid(Ink::Black, 1.2 * scale),
        ));
        let run = faces.set(&chart.work, Type::bold(7.8 * scale));
        let left = (x - run.width / 2.0).clamp(0.0, (width - run.width).max(0.0));
        marks.push(Mark::text(part, left, 8.0 * scale, run, Ink::Black));
    }
    marks
}

fn one_strip(plot: &mut Plot, strip: &Strip, top: f32, unit: &str) {
    let scale = plot.scale;
    let values = strip.visits.iter().map(|visit| visit.value);
    let band = strip.band.map(|(low, high)| [low, high]);
    let all = values.chain(band.into_iter().flatten());
    let range =
        all.filter(|value| value.is_finite())
            .fold(None, |range: Option<(f64, f64)>, value| {
                Some(range.map_or((value, value), |(low, high)| {
                    (low.min(value), high.max(value))
                }))
            });
    let title = format!("{}, {unit}", strip.title);
    let bold = Type::bold(7.8 * scale);
    plot.write(0.0, top + 7.0 * scale, &title, bold, Ink::Black);
    let Some((low, high)) = range else {
        plot.axes();
        return;
    };
    let ticks = Ticks::around(low, high, 3.0);
    plot.up = (ticks.first, ticks.last());
    if let Some((low, high)) = strip.band {
        plot.band(low, high);
    }
    plot.side(&ticks);
    plot.axes();
    let place = |plot: &Plot, visit: &Visit| (plot.x(visit.days), plot.y(visit.value));
    // The line stops at the work: before and after are two stories.
    for is_before in [true, false] {
        let line: Vec<(f32, f32)> = strip
            .visits
            .iter()
            .filter(|visit| (visit.days < 0.0) == is_before)
            .map(|visit| place(plot, visit))
            .collect();
        if line.len() > 1 {
            plot.stroke(Outline::through(&line), Pen::solid(Ink::Quiet, 0.6 * scale));
        }
    }
    for visit in &strip.visits {
        let (x, y) = place(plot, visit);
        plot.point(x, y, visit.standing);
    }
}

fn days_below(plot: &Plot, days: &[(f64, String)]) -> Vec<Mark> {
    let (scale, bottom) = (plot.scale, plot.area.bottom);
    let mut marks = Vec::new();
    let mut free_from = 0.0;
    for (day, text) in days {
        if !(plot.across.0..=plot.across.1).contains(day) {
            continue;
        }
        let x = plot.x(*day);
        let tick = Outline::line(x, bottom, x, bottom + 3.0 * scale);
        marks.push(Mark::stroke(
            plot.part,
            tick,
            Pen::solid(Ink::Black, 0.6 * scale),
        ));
        let run = plot.faces.set(text, plot.label());
        let left = (x - run.width / 2.0).min(plot.area.right - run.width);
        // A text that would run into the one before is left out; its tick stays.
        if left < free_from {
            continue;
        }
        free_from = left + run.width + 8.0 * scale;
        marks.push(Mark::text(
            plot.part,
            left,
            bottom + 11.5 * scale,
            run,
            Ink::Quiet,
        ));
    }
    marks
}
