//! Densities of printing inks.

use super::PrintInk;
use crate::ink::Ink;
use crate::specimen::paper::linear_from_lab;
use rand::{Rng, RngExt};

/// CIELAB of process solids K, C, M, Y on coated paper, white backing, after ISO 12647-2 as quoted by the
/// print wiki gate.grafostil.rs (rev. 14); read second-hand.
pub const COATED_LAB: [(Ink, [f64; 3]); 4] = [
    (Ink::K, [16.0, 0.0, 0.0]),
    (Ink::C, [56.0, -35.0, -53.0]),
    (Ink::M, [48.0, 75.0, -5.0]),
    (Ink::Y, [89.0, -4.0, 92.0]),
];

/// The same on uncoated paper, same source.
pub const UNCOATED_LAB: [(Ink, [f64; 3]); 4] = [
    (Ink::K, [31.0, 1.0, 1.0]),
    (Ink::C, [60.0, -26.0, -44.0]),
    (Ink::M, [56.0, 61.0, -1.0]),
    (Ink::Y, [89.0, -4.0, 78.0]),
];

/// CIELAB of the papers under those solids (ISO 12647-2 paper types 1 and 4, from memory).
const COATED_PAPER_LAB: [f64; 3] = [95.0, 0.0, -2.0];
const UNCOATED_PAPER_LAB: [f64; 3] = [92.0, 0.0, -3.0];

/// Optical density over its paper of a printing ink, with chance differences of hue and film.
pub fn process(ink: Ink, coated: bool, rng: &mut impl Rng) -> PrintInk {
    let (table, paper) = if coated {
        (&COATED_LAB, COATED_PAPER_LAB)
    } else {
        (&UNCOATED_LAB, UNCOATED_PAPER_LAB)
    };
    let lab = table
        .iter()
        .find(|(name, _)| *name == ink)
        .map_or([16.0, 0.0, 0.0], |entry| entry.1);
    let wobble = [2.5, 4.0, 4.0].map(|w| rng.random_range(-w..=w));
    let lab = [0, 1, 2].map(|i| lab[i] + wobble[i]);
    PrintInk {
        ink,
        solid_density: density_over(lab, paper),
        light: false,
    }
}

/// A spot colour for a duotone: brown, blue, green, grey, red or ochre.
pub fn spot(rng: &mut impl Rng) -> PrintInk {
    const COLOURS: [[f64; 3]; 6] = [
        [45.0, 20.0, 35.0],
        [40.0, 0.0, -35.0],
        [45.0, -25.0, 15.0],
        [60.0, 0.0, 2.0],
        [48.0, 55.0, 30.0],
        [72.0, 8.0, 45.0],
    ];
    let lab = COLOURS[rng.random_range(0..COLOURS.len())];
    let wobble = [5.0, 6.0, 6.0].map(|w| rng.random_range(-w..=w));
    PrintInk {
        ink: Ink::S,
        solid_density: density_over([0, 1, 2].map(|i| lab[i] + wobble[i]), COATED_PAPER_LAB),
        light: false,
    }
}

/// The light ink of an inkjet set: about a third of the density.
#[must_use]
pub fn lightened(ink: PrintInk, share: f64) -> PrintInk {
    PrintInk {
        solid_density: ink.solid_density.map(|d| d * share),
        light: true,
        ..ink
    }
}

/// Density per channel of one CIELAB colour over another.
#[must_use]
pub fn density_over(lab: [f64; 3], paper: [f64; 3]) -> [f64; 3] {
    let (ink, paper) = (linear_from_lab(lab), linear_from_lab(paper));
    [0, 1, 2].map(|c| (paper[c] / ink[c]).log10().clamp(0.0, 2.2))
}
