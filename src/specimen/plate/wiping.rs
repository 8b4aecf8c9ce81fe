//! Plate tone: the thin film of ink that wiping leaves between the marks.

use crate::plane::Plane;
use crate::specimen::noise::Noise;
use ndarray::Zip;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// Heaviest plate tone, as cover of full ink; most plates are wiped far cleaner.
const HEAVIEST: f32 = 0.08;
/// Scale of the unevenness, mm.
const PATCH_MM: f32 = 3.0;
/// Width and length of the streaks that the rag leaves, mm.
const STREAK_MM: [f32; 2] = [0.25, 6.0];

/// Adds plate tone to a cover plane, uneven and faintly streaked in the direction of wiping.
pub fn leave_tone(cover: &mut Plane, px_per_mm: f64, rng: &mut ChaCha8Rng) {
    let film = HEAVIEST * rng.random_range(0.0..1.0_f32).powi(3);
    let turn: f32 = rng.random_range(0.0..std::f32::consts::PI);
    let (c, s) = (turn.cos(), turn.sin());
    let (patches, streaks) = (Noise::new(rng), Noise::new(rng));
    let scale = 1.0 / px_per_mm as f32;
    Zip::indexed(cover).par_for_each(|(y, x), a| {
        let (x, y) = (x as f32 * scale, y as f32 * scale);
        let (along, across) = (c * x + s * y, c * y - s * x);
        let uneven = 1.0
            + 0.5 * patches.at(x / PATCH_MM, y / PATCH_MM)
            + 0.3 * streaks.at(across / STREAK_MM[0], along / STREAK_MM[1]);
        *a = a.max(film * uneven);
    });
}
