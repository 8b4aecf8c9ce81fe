//! Invented letters: strokes that look like writing and say nothing.

use super::stroke::Stroke;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// A page or a line of invented letters.
#[derive(Clone, Copy, Debug)]
pub struct Hand {
    /// Height of the small letters, mm.
    pub height_mm: f32,
    /// Full width of a heavy stroke, mm.
    pub weight_mm: f32,
    /// Horizontal shift per unit of height; 0 = upright.
    pub slant: f32,
}

impl Hand {
    /// A hand whose proportions vary as those of engraved captions do.
    pub fn random(height_mm: f32, rng: &mut ChaCha8Rng) -> Self {
        Self {
            height_mm,
            weight_mm: height_mm * rng.random_range(0.08..0.22),
            slant: if rng.random_bool(0.5) {
                rng.random_range(0.1..0.5)
            } else {
                0.0
            },
        }
    }

    /// One line of words from `start_mm` (left end of the base line), at most `length_mm` long.
    pub fn line(&self, start_mm: [f32; 2], length_mm: f32, rng: &mut ChaCha8Rng) -> Vec<Stroke> {
        let mut strokes = Vec::new();
        let mut x = 0.0;
        let mut left_in_word = rng.random_range(2..9);
        while x < length_mm {
            let width = self.height_mm * rng.random_range(0.45..0.85);
            if left_in_word == 0 {
                left_in_word = rng.random_range(2..10);
            } else {
                strokes.extend(self.letter([start_mm[0] + x, start_mm[1]], width, rng));
                left_in_word -= 1;
            }
            x += width + 0.25 * self.height_mm;
        }
        strokes
    }

    fn letter(&self, foot: [f32; 2], width_mm: f32, rng: &mut ChaCha8Rng) -> Vec<Stroke> {
        let rise = match rng.random_range(0..6) {
            0 => 1.7,
            1 => 1.4,
            _ => 1.0,
        };
        let mut strokes = vec![self.stem(foot, 0.0, rise)];
        match rng.random_range(0..5) {
            0 => strokes.push(self.bowl(foot, width_mm, std::f32::consts::TAU)),
            1 => strokes.push(self.bowl(foot, width_mm, std::f32::consts::PI)),
            2 => strokes.push(self.stem(foot, width_mm, 1.0)),
            3 => strokes.extend([self.stem(foot, width_mm, 1.0), self.bar(foot, width_mm)]),
            _ => strokes.push(self.bar(foot, width_mm)),
        }
        strokes
    }

    fn at(&self, foot: [f32; 2], x_mm: f32, up: f32) -> [f32; 2] {
        let up = up * self.height_mm;
        [foot[0] + x_mm + self.slant * up, foot[1] - up]
    }

    fn stem(&self, foot: [f32; 2], x_mm: f32, rise: f32) -> Stroke {
        let ends = vec![self.at(foot, x_mm, 0.0), self.at(foot, x_mm, rise)];
        Stroke::even(ends, self.weight_mm)
    }

    fn bar(&self, foot: [f32; 2], width_mm: f32) -> Stroke {
        let ends = vec![self.at(foot, 0.0, 0.5), self.at(foot, width_mm, 0.55)];
        Stroke::even(ends, 0.45 * self.weight_mm)
    }

    fn bowl(&self, foot: [f32; 2], width_mm: f32, sweep: f32) -> Stroke {
        let places = (0..=12)
            .map(|i| {
                let a = sweep * i as f32 / 12.0 - 0.5 * std::f32::consts::PI;
                self.at(foot, 0.5 * width_mm * (1.0 + a.cos()), 0.5 + 0.5 * a.sin())
            })
            .collect();
        Stroke::swelling(places, self.weight_mm)
    }
}
