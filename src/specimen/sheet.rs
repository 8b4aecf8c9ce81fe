//! The types that travel through the forward model.

use crate::ink::Ink;
use crate::plane::{Plane, Rgb};
use serde::{Deserialize, Serialize};

/// The process that printed a specimen; the five that are weighed, and look-alikes outside them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Origin {
    /// Stipple engraving.
    StippleEngraving,
    /// Line engraving or etching.
    LineEngraving,
    /// Crayon lithograph in one ink.
    Lithograph,
    /// Lithograph with a flat tint from its own stone.
    TintedLithograph,
    /// Photomechanical or digital reproduction by any screen.
    Halftone,
    /// Something outside the five processes, named in [`SheetTruth::other`].
    Other,
}

/// Where the colour lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ColourTruth {
    /// One near-black ink, no colouring.
    None,
    /// Brushed wash over printed marks.
    HandWash,
    /// The plate was inked in colours.
    ColouredInk,
    /// A flat tint from its own stone.
    PrintedTint,
    /// Three or four process inks.
    ProcessColour,
}

/// One ink or wash as it lies on the paper, at sheet resolution.
#[derive(Clone, Debug)]
pub struct Layer {
    /// Cover per pixel, 0 = bare, 1 = the full film.
    pub cover: Plane,
    /// Optical density of the full film per channel R, G, B (linear sRGB primaries), over paper.
    /// One entry where the ink has one colour; where it drifts (inked à la poupée), see `tint`.
    pub solid_density: [f64; 3],
    /// Per-pixel density where the ink's colour varies over the sheet; overrides `solid_density`.
    pub drift: Option<Rgb>,
}

/// A printed sheet before it is photographed: layers in the order of printing, on white paper.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// Resolution of the layers, px per mm.
    pub px_per_mm: f64,
    /// Width and height in px of every layer.
    pub size_px: [usize; 2],
    /// First printed first; a wash comes last.
    pub layers: Vec<Layer>,
    /// What is exactly known.
    pub truth: SheetTruth,
}

/// One system of hatching as drawn; angle of the lines themselves.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HatchTruth {
    /// Mean spacing, lines per mm.
    pub lines_per_mm: f64,
    /// Direction of the lines on the sheet, degrees counter-clockwise as seen, [0, 180).
    pub orientation_deg: f64,
    /// Mean drawn line width, µm.
    pub width_um: f64,
    /// Share of the inked area that it covers, 0–1.
    pub share: f64,
}

/// One ink's screen as printed; angle of the frequency vector.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ScreenTruth {
    /// Ink.
    pub ink: Ink,
    /// Ruling in lines per inch.
    pub ruling_lpi: f64,
    /// Angle on the sheet, degrees counter-clockwise as seen, [0, 90).
    pub angle_deg: f64,
    /// Mean printed area, 0–1.
    pub area: f64,
}

/// Exact truth of a sheet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SheetTruth {
    /// The process.
    pub origin: Origin,
    /// In words, for look-alikes and reproductions ("wood engraving", "inkjet print of a stipple plate").
    pub other: Option<String>,
    /// Where the colour lies; never empty.
    pub colouring: Vec<ColourTruth>,
    /// Connected printed marks of the key (black or coloured line) plate, whole sheet.
    pub marks: Option<MarksTruth>,
    /// Hatching, largest share first.
    pub hatching: Vec<HatchTruth>,
    /// Screens; empty where none or where the screen has no lattice.
    pub screens: Vec<ScreenTruth>,
    /// Whether an FM, error-diffusion or inkjet screen was used.
    pub stochastic: bool,
    /// Stone grains per mm (1 / mean spacing) where a stone was used.
    pub grains_per_mm: Option<f64>,
    /// CIELAB of the printed tint on white paper, and its share of the sheet.
    pub tint: Option<([f64; 3], f64)>,
}

/// Truth of the marks on the sheet: connected patches of cover ≥ 0.5.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MarksTruth {
    /// How many.
    pub count: usize,
    /// Per mm² of sheet.
    pub density_per_mm2: f64,
    /// Equivalent diameter 10 %, 50 %, 90 %, µm.
    pub diameter_um: [f64; 3],
    /// Share of the sheet under marks, 0–1.
    pub coverage: f64,
}
