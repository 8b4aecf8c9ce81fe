//! From linear light to wanted ink areas.

use super::PrintInk;
use crate::ink::Ink;
use crate::plane::{Plane, Rgb};
use serde::{Deserialize, Serialize};

/// How colour becomes ink.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct SeparationRecipe {
    /// Area = 1 − Rᵞ: near 0.45 for the naive complement of an sRGB signal, near 1 for areas that
    /// reproduce linear light.
    pub gamma: f64,
    /// Grey amount from which black sets in, 0–1.
    pub black_start: f64,
    /// Black at full grey, 0–1.
    pub black_limit: f64,
    /// Share of the grey component taken out of the colours where black prints: 0 = none,
    /// 1 = full replacement.
    pub under_colour_removal: f64,
    /// Contrast about mid-tone, 1 = as it is.
    pub contrast: f64,
    /// Least area that still prints, 0–0.1; everything that is not pure white gets at least this.
    pub highlight_dot: f64,
}

/// Wanted area of each ink, 0–1, in the order given, at the original's resolution.
#[must_use]
pub fn tones(light: &Rgb, inks: &[PrintInk], recipe: &SeparationRecipe) -> Vec<Plane> {
    let (h, w) = light[0].dim();
    let mut tones: Vec<Plane> = inks.iter().map(|_| Plane::zeros((h, w))).collect();
    let coloured = inks.iter().any(|ink| ink.ink == Ink::C);
    let has_light = |ink: Ink| inks.iter().any(|i| i.ink == ink && i.light);
    let split = [Ink::C, Ink::M].map(has_light);
    for y in 0..h {
        for x in 0..w {
            let pixel = [light[0][[y, x]], light[1][[y, x]], light[2][[y, x]]];
            let areas = if coloured {
                recipe.process_areas(pixel)
            } else {
                recipe.single_areas(pixel)
            };
            for (tone, ink) in tones.iter_mut().zip(inks) {
                tone[[y, x]] = areas.of(ink, split);
            }
        }
    }
    tones
}

/// Wanted areas of all inks at one place.
struct Areas {
    k: f32,
    c: f32,
    m: f32,
    y: f32,
    spot: f32,
}

impl Areas {
    /// `split` tells whether cyan and magenta have a light twin.
    fn of(&self, ink: &PrintInk, split: [bool; 2]) -> f32 {
        match ink.ink {
            Ink::K => self.k,
            Ink::Y => self.y,
            Ink::S => self.spot,
            Ink::C => shared(self.c, ink.light, split[0]),
            Ink::M => shared(self.m, ink.light, split[1]),
        }
    }
}

/// Light ink rises to its full area by mid-tone and then gives way to the dark ink.
fn shared(area: f32, light: bool, split: bool) -> f32 {
    if !split {
        return area;
    }
    let dark = ((area - 0.35) / 0.65).clamp(0.0, 1.0);
    if light {
        ((area - dark) * 2.2).clamp(0.0, 1.0)
    } else {
        dark
    }
}

impl SeparationRecipe {
    fn area(&self, reflectance: f32) -> f32 {
        let plain = 1.0 - reflectance.clamp(0.0, 1.0).powf(self.gamma as f32);
        let contrast = self.contrast as f32;
        let bent = (0.5 + contrast * (plain - 0.5)).clamp(0.0, 1.0);
        if plain > 0.004 {
            bent.max(self.highlight_dot as f32)
        } else {
            bent
        }
    }

    fn process_areas(&self, pixel: [f32; 3]) -> Areas {
        let [c, m, y] = pixel.map(|v| self.area(v));
        let grey = c.min(m).min(y);
        let start = self.black_start as f32;
        let k = self.black_limit as f32 * ((grey - start) / (1.0 - start).max(0.05)).max(0.0);
        let removed = self.under_colour_removal as f32 * k;
        // What is left of a colour under black, so that black over colour makes up the tone.
        let keep = |v: f32| ((v - removed) / (1.0 - removed).max(0.05)).clamp(0.0, 1.0);
        Areas {
            k: k.min(1.0),
            c: keep(c),
            m: keep(m),
            y: keep(y),
            spot: 0.0,
        }
    }

    fn single_areas(&self, pixel: [f32; 3]) -> Areas {
        let grey = 0.2126 * pixel[0] + 0.7152 * pixel[1] + 0.0722 * pixel[2];
        let k = self.area(grey);
        let spot = (1.15 * k).min(0.85);
        Areas {
            k,
            c: k,
            m: k,
            y: k,
            spot,
        }
    }
}
