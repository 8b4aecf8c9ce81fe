//! Halftone screens: ruling and angle per ink, with a false-alarm probability.
//!
//! A screen is a plane wave (two for a lattice of dots) that keeps step over the whole field,
//! bent only by the camera. So: mean spectra of windows give candidate frequencies
//! ([`peaks`]); each is followed through patches of the field ([`track`]); the waves that keep
//! step show the one bend of the sheet ([`sheet`]), along which all are read again, those left out that only
//! a coarser level shows ([`folded`]); waves of one
//! colour make a screen ([`basis`]), unless they lie in the paper itself ([`stock`]); its colour
//! names the ink ([`found`]), and the shape of its cell tells it from lines that a hand crossed ([`cell`]). Where dots keep step in no more than pieces of the field, as mechanical tints do, the pieces are read
//! each for itself ([`pieces`]). Where no wave is found, dots too few for that are asked for their places ([`dots`]).

use crate::ink::{Ink, Inked, separate};
use crate::measure::segment::Segments;
use crate::measured::Measured;
use crate::photo::scale::MM_PER_INCH;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

mod alarm;
mod basis;
mod cell;
mod demodulate;
mod dots;
mod field;
mod folded;
mod found;
mod peaks;
mod phase;
mod pieces;
mod pyramid;
mod raster;
mod rosette;
mod screen;
mod sheet;
mod solve;
mod spectrum;
mod stochastic;
mod stock;
mod track;

pub use peaks::MIN_PERIOD_PX;
pub use raster::Raster;
pub use stochastic::FineColour;

use found::Found;
use phase::Frame;
use pieces::Pieces;

/// What kind of screening was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ScreenKind {
    /// Dots of varied size on a fixed lattice (AM).
    Clustered,
    /// Equal small spots without a lattice: FM screening, inkjet, error diffusion.
    Stochastic,
    /// No screen found; says what that does not exclude.
    None,
    /// The photo cannot bear the measurement.
    NotMeasured,
}

/// One ink's screen.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct InkScreen {
    /// Which ink.
    pub ink: Ink,
    /// Screen ruling in lines per inch, mean over the measured field and over the vectors;
    /// missing without a scale.
    pub ruling_lpi: Measured,
    /// The same in lines per centimetre (1 lpi = 1/2.54 cm⁻¹).
    pub ruling_per_cm: Measured,
    /// Screen period in px, mean over the measured field.
    pub period_px: Measured,
    /// Angle of the screen (of both frequency vectors where they are as long as each other, of the shorter one else), degrees counter-clockwise as seen:
    /// [0, 90) for square and rectangular lattices, [0, 180) for others.
    pub angle_deg: Measured,
    /// Probability that structure without a screen would give a lattice this clear.
    pub false_alarm: f64,
    /// Mean frequency vectors, cycles per px, y down; one for a line screen.
    pub vectors_per_px: Vec<[f64; 2]>,
    /// Share of the modulation that keeps step with the lattice, 0–1: over the field, or in the middle one of its pieces.
    pub coherence: f64,
    /// Pieces of the field that were read each for itself, where the screen keeps step in no more than these; 0 where it does
    /// over the whole field.
    pub pieces: usize,
    /// Amplitude of the modulation in density.
    pub amplitude: f64,
}

/// How the screens of two inks lie to each other.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct BetweenInks {
    /// The two inks, in the order of the screens.
    pub inks: [Ink; 2],
    /// Angle between their screens, degrees: [0, 45] where both look the same after a quarter turn, [0, 90] for
    /// others. Three inks 30° apart make the rosette of process colour printing.
    pub angle_deg: Measured,
}

/// Screens found.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Lattice {
    /// What kind.
    pub kind: ScreenKind,
    /// Why it was not measured, or what "none" does not exclude.
    pub note: String,
    /// One entry an ink.
    pub inks: Vec<InkScreen>,
    /// One entry a pair of inks.
    pub angles_between: Vec<BetweenInks>,
    /// Fine structure in which the inks swing apart.
    pub fine_colour: FineColour,
    /// The grid of a printing device in the edges of marks.
    pub raster: Raster,
}

/// Least side of a field that can show a screen, px: six patches of ten periods overlap in it.
const MIN_SIDE_PX: usize = 96;
/// Finest screen looked for, lpi: half as fine again as press work has ("high-quality press work … above 300 lpi",
/// TreeO Enterprises, Halftones, 1995), and below the pitch of printing devices (600 dpi and up).
const MAX_SCREEN_LPI: f64 = 450.0;
/// Coherence from which a screen keeps step over the whole field.
const IN_STEP: f64 = 0.9;
/// log10 of the largest false-alarm probability at which a screen is reported.
const MAX_ALARM_LOG10: f64 = -4.0;

/// Looks for screens.
#[must_use]
pub fn measure(inked: &Inked, segments: &Segments) -> Lattice {
    by_waves(inked).or_by_dots(inked, segments)
}

/// What waves show, before the dots are asked; it needs no segments, so it can be had meanwhile.
pub struct ByWaves {
    lattice: Lattice,
    /// Whether any wave stood for a screen, be it one that was then laid to a digital printer.
    any: bool,
}

impl ByWaves {
    /// The same, or the screen of a few dots where no wave shows one.
    #[must_use]
    pub fn or_by_dots(self, inked: &Inked, segments: &Segments) -> Lattice {
        if self.any {
            return self.lattice;
        }
        match dots::find(segments).filter(|g| g.alarm_log10 <= MAX_ALARM_LOG10) {
            Some(grid) => Lattice {
                kind: ScreenKind::Clustered,
                note: format!("{} dots stand on one square lattice", grid.dots),
                inks: vec![screen::of_dots(inked, &grid)],
                angles_between: Vec::new(),
                ..self.lattice
            },
            None => self.lattice,
        }
    }
}

/// Looks for screens by the waves that their dots make.
#[must_use]
pub fn by_waves(inked: &Inked) -> ByWaves {
    let levels = pyramid::build(inked);
    let (height, width) = inked.usable.dim();
    let frame = Frame::new(width, height);
    let (found, fine) = rayon::join(
        || Found::on(&levels, &frame),
        || Fine {
            colour: stochastic::look(&levels),
            raster: raster::look(inked, &levels[0]),
        },
    );
    ByWaves {
        any: !found.grids.is_empty() || found.pieces.is_some(),
        lattice: report(inked, &frame, &found, fine),
    }
}

/// What is seen of structure finer than any screen.
struct Fine {
    colour: FineColour,
    raster: Raster,
}

fn report(inked: &Inked, frame: &Frame, found: &Found, fine: Fine) -> Lattice {
    let Found { tracks, sheet, .. } = found;
    if let Some(pieces) = &found.pieces {
        return in_pieces(inked, pieces, fine);
    }
    let grids = &found.grids;
    if grids.is_empty() {
        return without_lattice(inked, fine);
    }
    let colours: Vec<[f64; 3]> = grids.iter().map(|g| g.colour).collect();
    let names = if inked.grey {
        vec![Some(Ink::K)]
    } else {
        {
            let strengths: Vec<f64> = grids.iter().map(|g| g.strength).collect();
            separate::name_inks(&colours, &strengths)
        }
    };
    let places = field::places(&inked.usable);
    let mut inks: Vec<InkScreen> = grids
        .iter()
        .zip(names)
        .filter_map(|(grid, name)| {
            name.map(|ink| screen::of_waves(inked, frame, &places, tracks, sheet, grid, ink))
        })
        .collect();
    inks.sort_by_key(|s| s.ink);
    if let Some(dpi) = device_grid(&inks) {
        return Lattice {
            kind: ScreenKind::Stochastic,
            note: format!(
                "spots on a grid of {dpi:.0} per inch, too fine for a screen: the grid of a digital printer"
            ),
            inks: Vec::new(),
            angles_between: Vec::new(),
            fine_colour: fine.colour,
            raster: fine.raster,
        };
    }
    if inks.is_empty() {
        return without_lattice(inked, fine);
    }
    Lattice {
        kind: ScreenKind::Clustered,
        note: note_on(&inks).into(),
        angles_between: rosette::between(&inks),
        inks,
        fine_colour: fine.colour,
        raster: fine.raster,
    }
}

/// What repeats over the whole field.
fn note_on(inks: &[InkScreen]) -> &'static str {
    if inks.iter().all(|s| s.skew().is_some() && !s.is_square()) {
        "rows in step over the whole field that cross, but not at a right angle and one distance as those of a printing screen: hatching, threads and meshes do so"
    } else {
        "dots or lines on a fixed lattice in step over the whole field"
    }
}

/// The screen of dots that was laid in pieces.
fn in_pieces(inked: &Inked, pieces: &Pieces, fine: Fine) -> Lattice {
    let named = separate::name_inks(&[pieces.colour], &[pieces.strength]);
    let ink = named.first().copied().flatten().unwrap_or(Ink::K);
    Lattice {
        kind: ScreenKind::Clustered,
        note: format!(
            "dots on a fixed lattice, in step in each of {} pieces of the field but not from one to the next, as mechanical tints are laid",
            pieces.squares
        ),
        inks: vec![screen::of_pieces(inked, pieces, ink)],
        angles_between: Vec::new(),
        fine_colour: fine.colour,
        raster: fine.raster,
    }
}

/// Spots per inch, where the only lattice found is finer than any screen.
fn device_grid(inks: &[InkScreen]) -> Option<f64> {
    match inks {
        [only] => only.ruling_lpi.value().filter(|&lpi| lpi > MAX_SCREEN_LPI),
        _ => None,
    }
}

fn without_lattice(inked: &Inked, fine: Fine) -> Lattice {
    let (height, width) = inked.usable.dim();
    let finest = inked.px_per_mm().map_or_else(
        || format!("with a period under {:.1} px", peaks::MIN_PERIOD_PX),
        |scale| {
            format!(
                "finer than {:.0} lpi",
                scale * MM_PER_INCH / peaks::MIN_PERIOD_PX
            )
        },
    );
    let (kind, note) = if height.min(width) < MIN_SIDE_PX
        || inked.usable_px() < MIN_SIDE_PX * MIN_SIDE_PX
    {
        (
            ScreenKind::NotMeasured,
            format!(
                "the usable field is under {MIN_SIDE_PX} px across; photograph more of the sheet"
            ),
        )
    } else if let Some(grid) = Some(&fine.raster).filter(|r| r.is_clear()) {
        let pitch = match (grid.elements_per_inch.value(), grid.pitch_px.value()) {
            (Some(per_inch), _) => format!("of {per_inch:.0} per inch"),
            (None, pitch) => format!("of {:.1} px", pitch.unwrap_or_default()),
        };
        (
            ScreenKind::Stochastic,
            format!(
                "no screen, but the edges of the marks lie on a square grid {pitch}: the elements of a printing device, or two machine rulings crossed at right angles"
            ),
        )
    } else if fine.colour.is_independent_spots() {
        (
            ScreenKind::Stochastic,
            "no lattice, but fine spots of several inks that are independent of each other".into(),
        )
    } else {
        (
            ScreenKind::None,
            format!(
                "no lattice found; this does not exclude line blocks, collotype, grain gravure, stochastic screens in one ink, or screens {finest}"
            ),
        )
    };
    Lattice {
        kind,
        note,
        inks: Vec::new(),
        angles_between: Vec::new(),
        fine_colour: fine.colour,
        raster: fine.raster,
    }
}
