//! The types that travel through the forward model.

use crate::ink::Ink;
use crate::plane::{Plane, Rgb};
use ndarray::Zip;
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

/// How a layer acts on the light from what lies below it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LayerKind {
    /// Printed ink: `cover` is the *area* of each pixel under a film of full thickness
    /// (Murray–Davies): factor 1 − a + a·10^(−D).
    Ink,
    /// A wash or stain: `cover` is the *thickness* of the film relative to the full one
    /// (Bouguer–Lambert): factor 10^(−D·a). May exceed 1 where the wash pools.
    Film,
    /// Body colour: `cover` is the share of the pixel hidden; 10^(−D) is its own reflectance.
    Opaque,
}

/// One ink or wash as it lies on the paper, at sheet resolution.
#[derive(Clone, Debug)]
pub struct Layer {
    /// How `cover` is to be read.
    pub kind: LayerKind,
    /// Cover per pixel, 0 = bare, 1 = the full film.
    pub cover: Plane,
    /// Optical density of the full film per channel R, G, B (linear sRGB primaries), over paper.
    /// One entry where the ink has one colour; where it drifts (inked à la poupée), see `drift`.
    pub solid_density: [f64; 3],
    /// Per-pixel density where the ink's colour varies over the sheet; overrides `solid_density`.
    pub drift: Option<Rgb>,
}

impl Layer {
    /// Printed ink of one colour.
    #[must_use]
    pub fn ink(cover: Plane, solid_density: [f64; 3]) -> Self {
        Self::new(LayerKind::Ink, cover, solid_density)
    }

    /// A wash, stain or other film whose density follows its cover.
    #[must_use]
    pub fn film(cover: Plane, solid_density: [f64; 3]) -> Self {
        Self::new(LayerKind::Film, cover, solid_density)
    }

    /// Body colour that hides what lies below.
    #[must_use]
    pub fn opaque(cover: Plane, solid_density: [f64; 3]) -> Self {
        Self::new(LayerKind::Opaque, cover, solid_density)
    }

    fn new(kind: LayerKind, cover: Plane, solid_density: [f64; 3]) -> Self {
        Self {
            kind,
            cover,
            solid_density,
            drift: None,
        }
    }

    /// Lays this layer over one channel of linear light.
    fn lay_over(&self, channel: usize, light: &mut Plane) {
        let even = self.solid_density[channel] as f32;
        match &self.drift {
            Some(drift) => Zip::from(light)
                .and(&self.cover)
                .and(&drift[channel])
                .par_for_each(|r, &a, &d| *r = self.kind.through(*r, a, d)),
            None => Zip::from(light)
                .and(&self.cover)
                .par_for_each(|r, &a| *r = self.kind.through(*r, a, even)),
        }
    }
}

impl LayerKind {
    /// Linear light `below` after this layer of cover `a` and full-film density `d`.
    fn through(self, below: f32, a: f32, d: f32) -> f32 {
        if a <= 0.0 {
            return below;
        }
        match self {
            Self::Ink => below * (1.0 - a + a * transmittance(d)),
            Self::Film => below * transmittance(d * a),
            Self::Opaque => below * (1.0 - a) + a * transmittance(d),
        }
    }
}

/// 10^(−D).
fn transmittance(density: f32) -> f32 {
    (-std::f32::consts::LN_10 * density).exp()
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

impl Sheet {
    /// Linear reflectance of the sheet seen flat, over paper of one colour: the picture that a
    /// process camera would reproduce. `paper` is linear R, G, B, 0–1.
    #[must_use]
    pub fn reflectance_over(&self, paper: [f64; 3]) -> Rgb {
        let [w, h] = self.size_px;
        self.reflectance_over_paper(paper.map(|p| Plane::from_elem((h, w), p as f32)))
    }

    /// As [`Sheet::reflectance_over`], over a paper whose colour varies; the planes must have the
    /// sheet's shape.
    #[must_use]
    pub fn reflectance_over_paper(&self, mut paper: Rgb) -> Rgb {
        for layer in &self.layers {
            for (channel, light) in paper.iter_mut().enumerate() {
                layer.lay_over(channel, light);
            }
        }
        paper
    }

    /// The layer that carries the drawing (the black or line plate): the darkest printed ink,
    /// and the later of two equals.
    #[must_use]
    pub fn key(&self) -> Option<&Layer> {
        key_of(&self.layers)
    }
}

/// As [`Sheet::key`], before the layers are a sheet.
#[must_use]
pub fn key_of(layers: &[Layer]) -> Option<&Layer> {
    let total = |layer: &Layer| layer.solid_density.iter().sum::<f64>();
    layers
        .iter()
        .filter(|layer| layer.kind == LayerKind::Ink)
        .max_by(|a, b| total(a).total_cmp(&total(b)))
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
    /// How it lies from place to place, in no order; kept in memory only. Empty where it is everywhere the same.
    #[serde(skip)]
    pub places: Vec<HatchPlace>,
}

/// A system of hatching in one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HatchPlace {
    /// Middle of its ink: mm right of and below the middle of the sheet; in a photo, px.
    pub at: [f64; 2],
    /// Mean spacing there, lines per mm.
    pub lines_per_mm: f64,
    /// Direction of the lines there, degrees counter-clockwise as seen, [0, 180).
    pub orientation_deg: f64,
}

/// One ink's screen as printed; angle of the frequency vector.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ScreenTruth {
    /// Ink.
    pub ink: Ink,
    /// Ruling in lines per inch, mean of its directions.
    pub ruling_lpi: f64,
    /// Angle on the sheet, degrees counter-clockwise as seen, [0, 90).
    pub angle_deg: f64,
    /// Mean printed area, 0–1.
    pub area: f64,
    /// Frequency vectors on the sheet, cycles per mm, y down; one for a line screen, two for a
    /// lattice of dots.
    pub vectors_per_mm: Vec<[f64; 2]>,
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

#[cfg(test)]
mod tests {
    use super::*;

    fn one_pixel(layers: Vec<Layer>) -> Sheet {
        Sheet {
            px_per_mm: 10.0,
            size_px: [1, 1],
            layers,
            truth: SheetTruth {
                origin: Origin::Other,
                other: None,
                colouring: vec![ColourTruth::None],
                marks: None,
                hatching: Vec::new(),
                screens: Vec::new(),
                stochastic: false,
                grains_per_mm: None,
                tint: None,
            },
        }
    }

    fn light_over(layers: Vec<Layer>, paper: f64) -> f32 {
        one_pixel(layers).reflectance_over([paper; 3])[0][[0, 0]]
    }

    #[test]
    fn each_kind_of_layer_acts_by_its_own_law() {
        let half = || Plane::from_elem((1, 1), 0.5);
        let unit_density = [1.0; 3];
        // Half the area at a tenth: 0.5 + 0.05.
        let ink = light_over(vec![Layer::ink(half(), unit_density)], 0.8);
        assert!((ink - 0.8 * 0.55).abs() < 1e-6);
        // Half the thickness: 10^−0.5.
        let film = light_over(vec![Layer::film(half(), unit_density)], 0.8);
        assert!((film - 0.8 * 0.316_228).abs() < 1e-6);
        // Half hidden by a colour of reflectance 0.1.
        let body = light_over(vec![Layer::opaque(half(), unit_density)], 0.8);
        assert!((body - (0.4 + 0.05)).abs() < 1e-6);
    }

    #[test]
    fn layers_multiply_and_drift_overrides() {
        let full = || Plane::from_elem((1, 1), 1.0);
        let drift = [2.0, 0.0, 0.0].map(|d| Plane::from_elem((1, 1), d));
        let drifting = Layer {
            drift: Some(drift),
            ..Layer::ink(full(), [0.3; 3])
        };
        let sheet = one_pixel(vec![Layer::film(full(), [1.0; 3]), drifting]);
        let light = sheet.reflectance_over([1.0, 1.0, 0.5]).map(|p| p[[0, 0]]);
        for (seen, expected) in light.iter().zip([0.001, 0.1, 0.05]) {
            assert!((seen - expected).abs() < 1e-6, "{light:?}");
        }
    }

    #[test]
    fn the_key_is_the_darkest_ink_not_the_wash() {
        let cover = || Plane::zeros((1, 1));
        let sheet = one_pixel(vec![
            Layer::ink(cover(), [0.1; 3]),
            Layer::ink(cover(), [1.2; 3]),
            Layer::film(cover(), [2.0; 3]),
        ]);
        assert_eq!(sheet.key().map(|k| k.solid_density), Some([1.2; 3]));
        assert!(one_pixel(Vec::new()).key().is_none());
    }
}
