//! A chart as marks in a plane, so that every format draws the same picture.

use serde::Serialize;

/// A chart.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Chart {
    /// A name for files: `a-z`, `0-9` and dashes.
    pub id: String,
    /// What it shows.
    pub title: String,
    /// What it shows, for those who do not see it.
    pub description: String,
    /// Width in points of 1/72 inch.
    pub width: f64,
    /// Height in points.
    pub height: f64,
    /// Its marks, the lowest first. In data they would only repeat what the tables say.
    #[serde(skip)]
    pub marks: Vec<Mark>,
}

/// A mark; places in points from the upper left corner.
#[derive(Debug, Clone, PartialEq)]
pub enum Mark {
    /// Straight lines from point to point.
    Line {
        /// The points.
        points: Vec<(f64, f64)>,
        /// Its tone.
        tone: Tone,
        /// Its thickness.
        width: f64,
        /// Whether it is broken.
        dashed: bool,
    },
    /// A rectangle, with round corners or none; a circle is one that is all corners.
    Area {
        /// From the left.
        x: f64,
        /// From the top.
        y: f64,
        /// Width.
        width: f64,
        /// Height.
        height: f64,
        /// The radius of the corners, at most half of the lesser side.
        round: f64,
        /// What it is filled with.
        fill: Option<Fill>,
        /// Its edge.
        edge: Option<Edge>,
    },
    /// A closed shape of straight lines.
    Shape {
        /// Its corners.
        points: Vec<(f64, f64)>,
        /// What it is filled with.
        fill: Option<Fill>,
        /// Its edge.
        edge: Option<Edge>,
    },
    /// Words.
    Words {
        /// The place that `anchor` names.
        x: f64,
        /// The base line.
        y: f64,
        /// The words.
        text: String,
        /// Where the words stand from `x`.
        anchor: Anchor,
        /// The size.
        size: f64,
        /// The tone.
        tone: Tone,
        /// Whether they are bold.
        bold: bool,
    },
}

/// What an area is filled with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fill {
    /// The tone.
    pub tone: Tone,
    /// How much of it covers what lies below, 0 to 1.
    pub density: f64,
}

/// The edge of an area.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Edge {
    /// The tone.
    pub tone: Tone,
    /// Its thickness.
    pub width: f64,
}

impl Mark {
    /// A circle.
    #[must_use]
    pub fn circle(x: f64, y: f64, radius: f64, fill: Option<Fill>, edge: Option<Edge>) -> Mark {
        let (x, y, width) = (x - radius, y - radius, 2.0 * radius);
        Mark::Area { x, y, width, height: width, round: radius, fill, edge }
    }
}

/// Where words stand from their place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// They begin there.
    Start,
    /// Their middle is there.
    Middle,
    /// They end there.
    End,
}

/// A tone on white paper. Hues are those of Okabe and Ito, Color Universal Design, 2008, and
/// the window's; each has at least 3:1 to white.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// Words and what matters.
    Ink,
    /// What stands back: units, axes.
    Soft,
    /// Hairlines.
    Faint,
    /// What lies below marks without drawing the eye.
    Wash,
    /// The paper itself.
    Paper,
    /// What nothing surely beats.
    Blue,
    /// What something surely beats.
    Vermillion,
}

impl Tone {
    /// Red, green and blue.
    #[must_use]
    pub fn rgb(self) -> (u8, u8, u8) {
        match self {
            Tone::Ink => (0x1c, 0x1c, 0x1c),
            Tone::Soft => (0x5c, 0x5c, 0x5c),
            Tone::Faint => (0xd4, 0xd4, 0xd4),
            Tone::Wash => (0xee, 0xf2, 0xf5),
            Tone::Paper => (0xff, 0xff, 0xff),
            Tone::Blue => (0x00, 0x72, 0xb2),
            Tone::Vermillion => (0xd5, 0x5e, 0x00),
        }
    }
}
