//! Recipes drawn by chance, family by family.

use super::clustered::Screen;
use super::inkjet::DropRecipe;
use super::press::Rim;
use super::solids;
use super::spot::DotShape;
use super::stochastic::{Placement, SpotRecipe};
use super::{PressRecipe, PrintInk, Recipe, Screening, SeparationRecipe};
use crate::ink::Ink;
use rand::{Rng, RngExt};
use serde::{Deserialize, Serialize};

/// Families of reproduction.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Family {
    /// Four-colour offset, clustered dots.
    OffsetColour,
    /// Black-only offset, clustered dots.
    OffsetBlack,
    /// Black and a spot colour.
    Duotone,
    /// Letterpress half-tone block, black.
    LetterpressBlack,
    /// Letterpress in three or four colours.
    LetterpressColour,
    /// Colour laser printer with device cells.
    LaserColour,
    /// Black laser printer: dots or lines.
    LaserBlack,
    /// Ordered dither in clustered cells at low device resolution.
    Ordered,
    /// Stochastic four-colour.
    StochasticColour,
    /// Stochastic black.
    StochasticBlack,
    /// Inkjet, four or six inks.
    Inkjet,
}

impl Family {
    /// All families.
    pub const ALL: [Self; 11] = [
        Self::OffsetColour,
        Self::OffsetBlack,
        Self::Duotone,
        Self::LetterpressBlack,
        Self::LetterpressColour,
        Self::LaserColour,
        Self::LaserBlack,
        Self::Ordered,
        Self::StochasticColour,
        Self::StochasticBlack,
        Self::Inkjet,
    ];

    /// Name for people.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::OffsetColour => "four-colour offset print",
            Self::OffsetBlack => "black offset print",
            Self::Duotone => "duotone",
            Self::LetterpressBlack => "letterpress half-tone",
            Self::LetterpressColour => "letterpress colour half-tone",
            Self::LaserColour => "colour laser print",
            Self::LaserBlack => "laser print",
            Self::Ordered => "ordered-dither print",
            Self::StochasticColour => "stochastic four-colour print",
            Self::StochasticBlack => "stochastic black print",
            Self::Inkjet => "inkjet print",
        }
    }

    /// Whether its dots lie on a lattice.
    #[must_use]
    pub fn has_lattice(self) -> bool {
        !matches!(
            self,
            Self::StochasticColour | Self::StochasticBlack | Self::Inkjet
        )
    }

    /// Whether it prints in process colours.
    #[must_use]
    pub fn in_colour(self) -> bool {
        matches!(
            self,
            Self::OffsetColour
                | Self::LetterpressColour
                | Self::LaserColour
                | Self::StochasticColour
                | Self::Inkjet
        )
    }

    /// A recipe of this family.
    pub fn recipe(self, rng: &mut impl Rng) -> Recipe {
        let inks = self.inks(rng);
        let screening = self.screening(&inks, rng);
        let misregister_mm = inks
            .iter()
            .map(|_| {
                let worst = if rng.random_bool(0.5) { 0.02 } else { 0.1 };
                [
                    rng.random_range(-worst..worst),
                    rng.random_range(-worst..worst),
                ]
            })
            .collect();
        Recipe {
            family: self,
            separation: self.separation(rng),
            press: self.press(rng),
            screening,
            inks,
            misregister_mm,
        }
    }

    fn inks(self, rng: &mut impl Rng) -> Vec<PrintInk> {
        let coated = rng.random_bool(0.6);
        let mut ink = |ink| solids::process(ink, coated, rng);
        match self {
            Self::Duotone => {
                let black = ink(Ink::K);
                vec![solids::spot(rng), black]
            }
            Self::OffsetBlack
            | Self::LetterpressBlack
            | Self::LaserBlack
            | Self::Ordered
            | Self::StochasticBlack => vec![ink(Ink::K)],
            Self::LetterpressColour => {
                let colours = [Ink::Y, Ink::M, Ink::C].map(&mut ink).to_vec();
                if rng.random_bool(0.6) {
                    let black = solids::process(Ink::K, coated, rng);
                    colours.into_iter().chain([black]).collect()
                } else {
                    colours
                }
            }
            Self::Inkjet => {
                let four = [Ink::C, Ink::M, Ink::Y, Ink::K].map(ink);
                let light = rng.random_range(0.25..0.4);
                let twins = [four[0], four[1]].map(|twin| solids::lightened(twin, light));
                let six = rng.random_bool(0.5);
                four.into_iter()
                    .chain(twins.into_iter().filter(|_| six))
                    .collect()
            }
            _ => [Ink::K, Ink::C, Ink::M, Ink::Y].map(ink).to_vec(),
        }
    }

    fn separation(self, rng: &mut impl Rng) -> SeparationRecipe {
        let colour = self.in_colour();
        SeparationRecipe {
            gamma: rng.random_range(0.42..0.75),
            black_start: if colour {
                rng.random_range(0.0..0.5)
            } else {
                0.0
            },
            black_limit: rng.random_range(0.5..1.0),
            under_colour_removal: rng.random_range(0.0..0.9),
            contrast: rng.random_range(0.9..1.25),
            highlight_dot: if rng.random_bool(0.4) {
                rng.random_range(0.01..0.06)
            } else {
                0.0
            },
        }
    }

    fn press(self, rng: &mut impl Rng) -> PressRecipe {
        let letterpress = matches!(self, Self::LetterpressBlack | Self::LetterpressColour);
        let toner = matches!(self, Self::LaserBlack | Self::LaserColour | Self::Ordered);
        let inkjet = self == Self::Inkjet;
        let rough_paper = rng.random_bool(if letterpress { 0.4 } else { 0.15 });
        let more = if rough_paper { 2.0 } else { 1.0 };
        PressRecipe {
            spread_mm: more * rng.random_range(0.002..0.009),
            gain: if inkjet {
                0.0
            } else {
                rng.random_range(0.0..0.2)
            },
            softness: rng.random_range(0.2..0.9),
            roughness: more * rng.random_range(0.02..if toner { 0.2 } else { 0.08 }),
            rough_mm: rng.random_range(0.006..0.025),
            mottle: more * rng.random_range(0.01..0.06),
            voids: if rough_paper {
                rng.random_range(0.0..0.12)
            } else {
                0.0
            },
            strength: if rough_paper {
                rng.random_range(0.68..0.97)
            } else {
                rng.random_range(0.82..1.0)
            },
            rim: letterpress.then(|| Rim {
                width_mm: rng.random_range(0.012..0.04),
                hollow: rng.random_range(0.05..0.35),
            }),
        }
    }

    fn screening(self, inks: &[PrintInk], rng: &mut impl Rng) -> Screening {
        match self {
            Self::OffsetColour | Self::OffsetBlack | Self::Duotone => {
                Screening::Clustered(offset_screens(inks, false, rng))
            }
            Self::LetterpressBlack | Self::LetterpressColour => {
                Screening::Clustered(offset_screens(inks, true, rng))
            }
            Self::LaserColour | Self::LaserBlack => Screening::Clustered(laser_screens(inks, rng)),
            Self::Ordered => Screening::Clustered(vec![ordered_screen(rng)]),
            Self::StochasticColour | Self::StochasticBlack => {
                Screening::Stochastic(spot_recipe(rng))
            }
            Self::Inkjet => Screening::Inkjet(drop_recipe(rng)),
        }
    }
}

/// Dot shapes of film and digital screens.
fn dot_shape(glass: bool, rng: &mut impl Rng) -> DotShape {
    if glass && rng.random_bool(0.6) {
        return DotShape::Cosine;
    }
    match rng.random_range(0..7) {
        0 => DotShape::Round,
        1 | 2 => DotShape::Euclidean,
        3 | 4 => DotShape::Elliptical {
            ratio: rng.random_range(0.5..0.95),
        },
        5 => DotShape::Diamond,
        _ => DotShape::Square,
    }
}

fn offset_screens(inks: &[PrintInk], letterpress: bool, rng: &mut impl Rng) -> Vec<Screen> {
    // Range from coarse newspaper blocks to fine art printing (facts §1.1).
    let ruling_lpi = if letterpress {
        [55.0, 65.0, 85.0, 100.0, 120.0, 133.0, 150.0, 175.0][rng.random_range(0..8)]
    } else if rng.random_bool(0.6) {
        [65.0, 85.0, 100.0, 120.0, 133.0, 150.0, 175.0, 200.0][rng.random_range(0..8)]
    } else {
        rng.random_range(50.0f64.ln()..250.0f64.ln()).exp()
    };
    let shape = dot_shape(letterpress, rng);
    let angles = conventional_angles(inks, rng);
    let common_deg = rng.random_range(-6.0..6.0);
    let finer_yellow = if rng.random_bool(0.4) {
        rng.random_range(1.05..1.35)
    } else {
        1.0
    };
    // Rational tangents of supercells move ruling and angle a little.
    let supercell = (!letterpress && rng.random_bool(0.6))
        .then(|| (rng.random_range(1..12), rng.random_range(47.0..142.0)));
    inks.iter()
        .zip(angles)
        .map(|(ink, angle)| {
            let finer = if ink.ink == Ink::Y { finer_yellow } else { 1.0 };
            let ruling = ruling_lpi * finer * rng.random_range(0.997..1.003);
            let mut screen = Screen::square(ruling, angle, shape);
            if let Some((cells, device)) = supercell {
                screen = screen.snapped(cells, device);
            }
            screen = turned(screen, common_deg);
            screen.phase = [rng.random_range(0.0..1.0), rng.random_range(0.0..1.0)];
            screen
        })
        .collect()
}

fn turned(mut screen: Screen, degrees: f64) -> Screen {
    let (sin, cos) = degrees.to_radians().sin_cos();
    for v in &mut screen.vectors_per_mm {
        *v = [v[0] * cos + v[1] * sin, v[1] * cos - v[0] * sin];
    }
    screen
}

/// Yellow at 0°, the three strong inks 30° apart with black (or the spot's partner) mostly at 45°; some
/// houses exchange the angles or turn them all by 7.5°.
fn conventional_angles(inks: &[PrintInk], rng: &mut impl Rng) -> Vec<f64> {
    let mut strong = [15.0, 75.0, 45.0];
    if rng.random_bool(0.5) {
        strong.swap(0, 1);
    }
    if rng.random_bool(0.25) {
        strong.rotate_left(1);
    }
    let base = if rng.random_bool(0.2) { 7.5 } else { 0.0 };
    let single = if rng.random_bool(0.75) {
        45.0
    } else {
        rng.random_range(0.0..90.0)
    };
    inks.iter()
        .map(|ink| match (inks.len(), ink.ink) {
            (1, _) => single,
            (_, Ink::C) => strong[0] + base,
            (_, Ink::M | Ink::S) => strong[1] + base,
            (_, Ink::K) => strong[2] + base,
            (_, Ink::Y) => base,
        })
        .collect()
}

/// Cells in whole device pixels, as laser printers repeat them; 300, 600 or 1200 dpi.
fn laser_screens(inks: &[PrintInk], rng: &mut impl Rng) -> Vec<Screen> {
    let dpi = [300.0, 600.0, 600.0, 1200.0][rng.random_range(0..4)];
    let line = rng.random_range(0..4) == 0;
    let shape = if line {
        DotShape::Line
    } else {
        dot_shape(false, rng)
    };
    let most_side = if dpi > 900.0 { 9 } else { 6 };
    inks.iter()
        .enumerate()
        .map(|(i, _)| {
            let (a, b) = device_side(most_side, rng);
            let oblique = rng.random_bool(0.4);
            let sides = if oblique {
                [[a, -b], [b - i64::from(rng.random_bool(0.5)), a + 1]]
            } else {
                [[a, -b], [b, a]]
            };
            let mut screen = Screen::of_device_cell(sides, dpi / 25.4, shape);
            screen.phase = [0.13 + 0.21 * i as f64, 0.31 * i as f64 + 0.07];
            screen
        })
        .collect()
}

/// A cell side of at least three device pixels.
fn device_side(most: i64, rng: &mut impl Rng) -> (i64, i64) {
    loop {
        let (a, b) = (rng.random_range(1..=most), rng.random_range(0..=most));
        if a * a + b * b >= 8 {
            return (a, b);
        }
    }
}

/// Clustered cells of an ordered dither, upright or at 45°.
fn ordered_screen(rng: &mut impl Rng) -> Screen {
    let dpi = [200.0, 300.0, 400.0, 600.0][rng.random_range(0..4)];
    let n = rng.random_range(3..=8);
    let sides = if rng.random_bool(0.5) {
        [[n, 0], [0, n]]
    } else {
        [[n, -n], [n, n]]
    };
    let sides = if n > 5 { [[n, 0], [0, n]] } else { sides };
    let shape = match rng.random_range(0..4) {
        0 => DotShape::Square,
        1 => DotShape::Diamond,
        2 => DotShape::Round,
        _ => DotShape::Euclidean,
    };
    Screen::of_device_cell(sides, dpi / 25.4, shape)
}

fn spot_recipe(rng: &mut impl Rng) -> SpotRecipe {
    SpotRecipe {
        spot_um: rng.random_range(10.0..42.0),
        placement: placement(rng),
    }
}

fn placement(rng: &mut impl Rng) -> Placement {
    match rng.random_range(0..3) {
        0 => Placement::Mask,
        1 => Placement::Diffused {
            noise: rng.random_range(0.0..0.4),
        },
        _ => Placement::Clustered {
            hysteresis: rng.random_range(0.2..0.8),
        },
    }
}

fn drop_recipe(rng: &mut impl Rng) -> DropRecipe {
    let dpi = [
        [360.0, 360.0],
        [720.0, 360.0],
        [600.0, 600.0],
        [720.0, 720.0],
        [1440.0, 720.0],
    ][rng.random_range(0..5)];
    // The largest drop must close the grid's gaps: more than a cell's diagonal.
    let diagonal_um = 25_400.0_f64 * (1.0_f64 / dpi[0]).hypot(1.0 / dpi[1]);
    let largest = (diagonal_um * rng.random_range(1.0..1.5)).clamp(28.0, 95.0);
    let sizes = rng.random_range(1..=3);
    let drop_um = (0..sizes)
        .map(|i| largest * (0.5 + 0.5 * f64::from(i + 1) / f64::from(sizes)))
        .collect();
    DropRecipe {
        dpi,
        drop_um,
        placement: match rng.random_range(0..3) {
            0 => Placement::Mask,
            _ => Placement::Diffused {
                noise: rng.random_range(0.0..0.3),
            },
        },
        scatter_um: rng.random_range(1.0..7.0),
        weave_um: rng.random_range(0.0..6.0),
        nozzles: rng.random_range(4..64),
        satellites: if rng.random_bool(0.5) {
            0.0
        } else {
            rng.random_range(0.0..0.25)
        },
    }
}
