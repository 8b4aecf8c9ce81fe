//! Recipes drawn by chance, family by family.

use super::inkjet::DropRecipe;
use super::press::Rim;
use super::rulings::{laser_screens, offset_screens, ordered_screen};
use super::solids;
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
