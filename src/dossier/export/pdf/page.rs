//! Geometry of a page, and what is set on it.

use super::super::figure::Figure;
use super::typeset::Cut;

/// Points in a millimetre.
pub const POINTS_PER_MM: f32 = 72.0 / 25.4;

/// Size of paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// 210 × 297 mm (ISO 216).
    A4,
    /// 8½ × 11 inches (ANSI/ASME Y14.1, size A).
    Letter,
}

impl Paper {
    /// Width and height, points.
    #[must_use]
    pub fn size(self) -> (f32, f32) {
        match self {
            Self::A4 => (210.0 * POINTS_PER_MM, 297.0 * POINTS_PER_MM),
            Self::Letter => (612.0, 792.0),
        }
    }
}

/// Colours used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Colour {
    /// Text.
    Ink,
    /// Labels and small print.
    Soft,
    /// Hairlines.
    Hair,
    /// What must not be overlooked.
    Alarm,
}

impl Colour {
    /// Red, green, blue.
    pub fn rgb(self) -> (u8, u8, u8) {
        match self {
            Self::Ink => (28, 35, 41),
            Self::Soft => (91, 102, 112),
            Self::Hair => (201, 207, 210),
            Self::Alarm => (156, 63, 46),
        }
    }
}

/// Something set on a page; places in points from the top left of the page or of its piece.
pub enum Mark {
    /// A line of text, its baseline's left end.
    Text {
        /// Cut of the typeface.
        cut: Cut,
        /// Size, points.
        size: f32,
        /// Colour.
        colour: Colour,
        /// From the left.
        x: f32,
        /// From the top.
        y: f32,
        /// The text.
        text: String,
    },
    /// A filled rectangle: rules and bars.
    Box {
        /// Colour.
        colour: Colour,
        /// From the left.
        x: f32,
        /// From the top.
        y: f32,
        /// Width.
        width: f32,
        /// Height.
        height: f32,
    },
    /// A picture.
    Picture {
        /// The picture.
        figure: Figure,
        /// From the left.
        x: f32,
        /// From the top.
        y: f32,
        /// Width; the height follows.
        width: f32,
    },
}

impl Mark {
    /// Moves it down.
    pub fn lower(&mut self, points: f32) {
        match self {
            Self::Text { y, .. } | Self::Box { y, .. } | Self::Picture { y, .. } => *y += points,
        }
    }
}

/// A page.
#[derive(Default)]
pub struct Page {
    /// What is set on it, in order.
    pub marks: Vec<Mark>,
}

/// Pages of one size with the place of their foot.
pub struct Pages {
    /// Width and height, points.
    pub size: (f32, f32),
    /// Margin left and right, points.
    pub margin: f32,
    /// Lines of the foot.
    pub foot: Vec<String>,
    /// Top of the foot, points.
    pub foot_top: f32,
    /// The pages.
    pub pages: Vec<Page>,
}
