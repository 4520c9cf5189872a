//! What stands on a page: runs of text and outlines at their places, in points from the upper left
//! corner, y downwards.
//!
//! Pure geometry. Not here: where things go ([`super::layout`]) and how a file is written
//! ([`super::pdf`]).

use super::face::{Run, SMALLEST};

/// Tones and the few colours. Everything reads the same printed in black and white: a colour only
/// repeats what a word and a shape say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// Text and needles.
    Black,
    /// Labels and notes.
    Quiet,
    /// Hairlines.
    Hair,
    /// The ground of an expected band.
    Pale,
    /// Paper.
    White,
    /// Within.
    Within,
    /// Unsure.
    Unsure,
    /// Outside.
    Outside,
}

impl Ink {
    /// Red, green and blue.
    #[must_use]
    pub const fn rgb(self) -> [u8; 3] {
        match self {
            Self::Black => [16, 16, 16],
            Self::Quiet => [92, 92, 92],
            Self::Hair => [178, 178, 178],
            Self::Pale => [226, 226, 226],
            Self::White => [255, 255, 255],
            Self::Within => [22, 96, 52],
            Self::Unsure => [122, 84, 0],
            Self::Outside => [168, 24, 24],
        }
    }
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen {
    /// Its tone.
    pub ink: Ink,
    /// Its width.
    pub width: f32,
    /// Lengths of dash and gap, where it is broken.
    pub dash: Option<[f32; 2]>,
}

impl Pen {
    /// An unbroken line.
    #[must_use]
    pub const fn solid(ink: Ink, width: f32) -> Self {
        let dash = None;
        Self { ink, width, dash }
    }

    /// A broken line.
    #[must_use]
    pub const fn broken(ink: Ink, width: f32, dash: f32, gap: f32) -> Self {
        let dash = Some([dash, gap]);
        Self { ink, width, dash }
    }
}

/// A part of an outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Segment {
    /// Starts a new part here.
    Move(f32, f32),
    /// A straight line to here.
    Line(f32, f32),
    /// A cubic curve: two control points, then its end.
    Curve([f32; 6]),
    /// Back to where the part started.
    Close,
}

/// Lines and curves that are drawn or filled together.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Outline(pub Vec<Segment>);

impl Outline {
    /// A straight line.
    #[must_use]
    pub fn line(x1: f32, y1: f32, x2: f32, y2: f32) -> Self {
        Self(vec![Segment::Move(x1, y1), Segment::Line(x2, y2)])
    }

    /// A line from point to point.
    #[must_use]
    pub fn through(points: &[(f32, f32)]) -> Self {
        let segment = |(index, &(x, y)): (usize, &(f32, f32))| {
            if index == 0 {
                Segment::Move(x, y)
            } else {
                Segment::Line(x, y)
            }
        };
        Self(points.iter().enumerate().map(segment).collect())
    }

    /// A closed figure with these corners.
    #[must_use]
    pub fn polygon(points: &[(f32, f32)]) -> Self {
        Self::through(points).closed()
    }

    /// A rectangle.
    #[must_use]
    pub fn rect(x: f32, y: f32, width: f32, height: f32) -> Self {
        let (right, bottom) = (x + width, y + height);
        Self::polygon(&[(x, y), (right, y), (right, bottom), (x, bottom)])
    }

    /// Part of a circle, angles in degrees clockwise from twelve o'clock.
    #[must_use]
    pub fn arc(x: f32, y: f32, radius: f32, from: f32, to: f32) -> Self {
        let on = |degrees: f32| {
            let (sin, cos) = degrees.to_radians().sin_cos();
            (x + radius * sin, y - radius * cos)
        };
        let start = on(from);
        let mut segments = vec![Segment::Move(start.0, start.1)];
        // A cubic curve follows a quarter of a circle to a few parts in ten thousand.
        let mut at = from;
        while at < to - 0.01 {
            let next = (at + 45.0).min(to);
            let handle = radius * 4.0 / 3.0 * ((next - at).to_radians() / 4.0).tan();
            let ((x1, y1), (x2, y2)) = (on(at), on(next));
            let (sin1, cos1) = at.to_radians().sin_cos();
            let (sin2, cos2) = next.to_radians().sin_cos();
            segments.push(Segment::Curve([
                x1 + handle * cos1,
                y1 + handle * sin1,
                x2 - handle * cos2,
                y2 - handle * sin2,
                x2,
                y2,
            ]));
            at = next;
        }
        Self(segments)
    }

    /// A circle.
    #[must_use]
    pub fn circle(x: f32, y: f32, radius: f32) -> Self {
        Self::arc(x, y, radius, 0.0, 360.0).closed()
    }

    /// The same, closed.
    #[must_use]
    pub fn closed(mut self) -> Self {
        self.0.push(Segment::Close);
        self
    }

    /// Adds the parts of another.
    pub fn add(&mut self, other: Self) {
        self.0.extend(other.0);
    }

    fn points(&self) -> impl Iterator<Item = (f32, f32)> {
        self.0.iter().flat_map(|segment| match *segment {
            Segment::Move(x, y) | Segment::Line(x, y) => vec![(x, y)],
            // Control points stand a little outside the curve, which is near enough for a box.
            Segment::Curve([x1, y1, x2, y2, x, y]) => vec![(x1, y1), (x2, y2), (x, y)],
            Segment::Close => Vec::new(),
        })
    }

    fn moved(&mut self, dx: f32, dy: f32) {
        for segment in &mut self.0 {
            match segment {
                Segment::Move(x, y) | Segment::Line(x, y) => {
                    *x += dx;
                    *y += dy;
                }
                Segment::Curve(values) => {
                    for pair in values.chunks_exact_mut(2) {
                        pair[0] += dx;
                        pair[1] += dy;
                    }
                }
                Segment::Close => {}
            }
        }
    }
}

/// What a mark belongs to, so that a screen reader can make sense of the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// Rules, running heads, page numbers: nothing that is read out.
    Furniture,
    /// The element of this number in [`Layout::elements`](super::layout::Layout).
    Element(usize),
}

/// Something drawn.
#[derive(Debug, Clone, PartialEq)]
pub enum Drawn {
    /// Text; y is its base line.
    Text {
        /// Left end.
        x: f32,
        /// Base line.
        y: f32,
        /// Its glyphs.
        run: Run,
        /// Its tone.
        ink: Ink,
    },
    /// An outline, filled, drawn or both.
    Shape {
        /// The outline.
        outline: Outline,
        /// What fills it.
        fill: Option<Ink>,
        /// What draws it.
        pen: Option<Pen>,
    },
}

/// A box: left, top, right, bottom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Left edge.
    pub left: f32,
    /// Upper edge.
    pub top: f32,
    /// Right edge.
    pub right: f32,
    /// Lower edge.
    pub bottom: f32,
}

impl Bounds {
    /// Whether the two share more than an edge.
    #[must_use]
    pub fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }
}

/// One thing on a page.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// What it belongs to.
    pub part: Part,
    /// What it is.
    pub drawn: Drawn,
}

impl Mark {
    /// Text with its base line at y.
    #[must_use]
    pub fn text(part: Part, x: f32, y: f32, run: Run, ink: Ink) -> Self {
        let drawn = Drawn::Text { x, y, run, ink };
        Self { part, drawn }
    }

    /// A drawn outline.
    #[must_use]
    pub fn stroke(part: Part, outline: Outline, pen: Pen) -> Self {
        Self::shape(part, outline, None, Some(pen))
    }

    /// A filled outline.
    #[must_use]
    pub fn fill(part: Part, outline: Outline, ink: Ink) -> Self {
        Self::shape(part, outline, Some(ink), None)
    }

    /// An outline.
    #[must_use]
    pub fn shape(part: Part, outline: Outline, fill: Option<Ink>, pen: Option<Pen>) -> Self {
        let drawn = Drawn::Shape { outline, fill, pen };
        Self { part, drawn }
    }

    /// The same elsewhere.
    #[must_use]
    pub fn moved(mut self, dx: f32, dy: f32) -> Self {
        match &mut self.drawn {
            Drawn::Text { x, y, .. } => {
                *x += dx;
                *y += dy;
            }
            Drawn::Shape { outline, .. } => outline.moved(dx, dy),
        }
        self
    }

    /// The box around it; text by its size, from above its capitals to below its descenders.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        match &self.drawn {
            Drawn::Text { x, y, run, .. } => Bounds {
                left: *x,
                top: y - 0.72 * run.size,
                right: x + run.width.max(SMALLEST),
                bottom: y + 0.22 * run.size,
            },
            Drawn::Shape { outline, pen, .. } => {
                let half = pen.map_or(0.0, |pen| pen.width / 2.0);
                let nothing = Bounds {
                    left: f32::INFINITY,
                    top: f32::INFINITY,
                    right: f32::NEG_INFINITY,
                    bottom: f32::NEG_INFINITY,
                };
                outline.points().fold(nothing, |bounds, (x, y)| Bounds {
                    left: bounds.left.min(x - half),
                    top: bounds.top.min(y - half),
                    right: bounds.right.max(x + half),
                    bottom: bounds.bottom.max(y + half),
                })
            }
        }
    }
}
