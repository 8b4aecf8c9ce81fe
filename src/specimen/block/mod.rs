//! Look-alikes outside the five processes, drawn to test that they come out undetermined.

pub mod colour;
pub mod intaglio;
pub mod page;
pub mod photographic;
pub mod wood;

use super::colouring::{inks, wash};
use super::drawing::compose;
use super::patches;
use super::sheet::{ColourTruth, Layer, Origin, Sheet, SheetTruth, key_of};
use crate::plane::Plane;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use serde::{Deserialize, Serialize};

/// A look-alike.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LookAlike {
    /// White-line wood engraving.
    WoodEngraving,
    /// Black-line woodcut, coarse and knife-edged.
    Woodcut,
    /// Aquatint: resin grain in flat steps.
    Aquatint,
    /// Mezzotint: rocked ground burnished from dark to light.
    Mezzotint,
    /// Collotype: fine wormy reticulation.
    Collotype,
    /// Grain photogravure: fine resin grain under continuous tone.
    Photogravure,
    /// Chromolithograph: many flat and grained colours.
    Chromolithograph,
    /// A page of letterpress text.
    Letterpress,
    /// Paper with nothing on it, plain or foxed.
    BlankPaper,
    /// Woven cloth.
    Textile,
    /// A smooth scene as a camera would see it, with no print in it.
    PhotographicScene,
}

impl LookAlike {
    /// All of them, in a fixed order.
    pub const ALL: [Self; 11] = [
        Self::WoodEngraving,
        Self::Woodcut,
        Self::Aquatint,
        Self::Mezzotint,
        Self::Collotype,
        Self::Photogravure,
        Self::Chromolithograph,
        Self::Letterpress,
        Self::BlankPaper,
        Self::Textile,
        Self::PhotographicScene,
    ];

    /// Any of them, with equal chances.
    pub fn random(rng: &mut ChaCha8Rng) -> Self {
        Self::ALL[rng.random_range(0..Self::ALL.len())]
    }

    /// Its name in words.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::WoodEngraving => "wood engraving",
            Self::Woodcut => "woodcut",
            Self::Aquatint => "aquatint",
            Self::Mezzotint => "mezzotint",
            Self::Collotype => "collotype",
            Self::Photogravure => "grain photogravure",
            Self::Chromolithograph => "chromolithograph",
            Self::Letterpress => "letterpress text",
            Self::BlankPaper => "blank paper",
            Self::Textile => "woven cloth",
            Self::PhotographicScene => "photographic scene",
        }
    }
}

/// Share of relief and tonal prints that are coloured by hand, as of line engravings. Source: common practice.
const COLOURED_BY_HAND: f64 = 0.4;

/// What was printed, and how it was coloured.
type Printed = (Vec<Layer>, ColourTruth);

/// Draws a look-alike; its truth holds the marks of the key where there is one.
#[must_use]
pub fn draw(kind: LookAlike, px_per_mm: f64, size_px: [usize; 2], rng: &mut ChaCha8Rng) -> Sheet {
    let plain = |layers| (layers, ColourTruth::None);
    let (layers, colouring) = match kind {
        LookAlike::BlankPaper => plain(page::blank(px_per_mm, size_px, rng)),
        LookAlike::Letterpress => plain(vec![black(page::text(px_per_mm, size_px, rng), rng)]),
        LookAlike::Textile => plain(page::cloth(px_per_mm, size_px, rng)),
        LookAlike::PhotographicScene => plain(photographic::scene(size_px, rng)),
        _ => drawn(kind, px_per_mm, size_px, rng),
    };
    Sheet {
        px_per_mm,
        size_px,
        truth: truth(kind, colouring, px_per_mm, &layers),
        layers,
    }
}

/// The look-alikes that reproduce a drawing.
fn drawn(kind: LookAlike, px_per_mm: f64, size_px: [usize; 2], rng: &mut ChaCha8Rng) -> Printed {
    let drawing = compose::random(px_per_mm, size_px, rng);
    let cover = match kind {
        LookAlike::WoodEngraving => wood::engraved(&drawing, rng),
        LookAlike::Woodcut => wood::cut(&drawing, rng),
        LookAlike::Aquatint => intaglio::aquatint(&drawing, rng),
        LookAlike::Mezzotint => intaglio::mezzotint(&drawing, rng),
        LookAlike::Collotype => photographic::collotype(&drawing, rng),
        LookAlike::Photogravure => photographic::gravure(&drawing, rng),
        _ => {
            let layers = colour::chromolithograph(&drawing, rng);
            return (layers, ColourTruth::ColouredInk);
        }
    };
    let mut layers = vec![black(cover, rng)];
    let by_hand = !matches!(kind, LookAlike::Collotype | LookAlike::Photogravure);
    if !by_hand || !rng.random_bool(COLOURED_BY_HAND) {
        return (layers, ColourTruth::None);
    }
    layers.extend(wash::brushed(&drawing, rng));
    (layers, ColourTruth::HandWash)
}

fn black(cover: Plane, rng: &mut ChaCha8Rng) -> Layer {
    Layer::ink(cover, inks::density_of_lab(inks::near_black(rng)))
}

fn truth(kind: LookAlike, colouring: ColourTruth, px_per_mm: f64, layers: &[Layer]) -> SheetTruth {
    SheetTruth {
        origin: Origin::Other,
        other: Some(kind.name().to_owned()),
        colouring: vec![colouring],
        marks: key_of(layers).map(|layer| patches::marks_of(&layer.cover, px_per_mm)),
        hatching: Vec::new(),
        screens: Vec::new(),
        stochastic: false,
        grains_per_mm: None,
        tint: None,
    }
}
