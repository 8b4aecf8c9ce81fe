//! Hands that make lines: burin, etching needle, ruling machine.

use super::hatch::Hatch;
use crate::specimen::noise::Noise;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// How the lines of a plate were made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Manner {
    /// Burin: swelling lines with tapered ends.
    Burin,
    /// Etching needle and acid: even lines, blunt ends, ragged edges, freer direction.
    Etched,
    /// Ruling machine.
    Ruled,
}

/// The systems of one plate, those of the lights first.
pub fn systems(manner: Manner, rng: &mut ChaCha8Rng) -> Vec<Hatch> {
    let first = match manner {
        Manner::Burin => burin(rng),
        Manner::Etched => etched(rng),
        Manner::Ruled => ruled(rng),
    };
    let mut systems = vec![first];
    let crossings = match manner {
        Manner::Ruled => rng.random_range(0..2),
        _ => rng.random_range(0..3),
    };
    for i in 0..crossings {
        let turn = rng.random_range(20.0..90.0_f32).to_radians();
        systems.push(Hatch {
            turn: first.turn + if i == 0 { turn } else { -turn },
            from_tone: first.from_tone + (i + 1) as f32 * rng.random_range(0.1..0.35),
            pitch_mm: first.pitch_mm * rng.random_range(0.85..1.2),
            noise: Noise::new(rng),
            ..first
        });
    }
    systems
}

/// 2–12 lines per mm, even on a logarithmic scale.
fn pitch_mm(rng: &mut ChaCha8Rng) -> f32 {
    1.0 / (2.0 * 6.0_f32.powf(rng.random_range(0.0..1.0)))
}

pub(super) fn burin(rng: &mut ChaCha8Rng) -> Hatch {
    let pitch_mm = pitch_mm(rng);
    Hatch {
        pitch_mm,
        turn: 0.0,
        from_tone: rng.random_range(0.08..0.3),
        fill: [rng.random_range(0.1..0.3), rng.random_range(0.45..0.85)],
        jitter: rng.random_range(0.0..0.18),
        wander: rng.random_range(0.0..0.2),
        cut_mm: pitch_mm * rng.random_range(15.0..120.0),
        taper_mm: pitch_mm * rng.random_range(0.8..6.0),
        ragged_mm: 0.0,
        dash_mm: if rng.random_bool(0.6) {
            pitch_mm * rng.random_range(0.7..4.0)
        } else {
            0.0
        },
        thinnest_mm: rng.random_range(0.015..0.035),
        noise: Noise::new(rng),
    }
}

fn etched(rng: &mut ChaCha8Rng) -> Hatch {
    let fill: f32 = rng.random_range(0.2..0.45);
    let pitch_mm = pitch_mm(rng);
    Hatch {
        fill: [fill, fill * rng.random_range(1.0..1.4)],
        from_tone: rng.random_range(0.05..0.25),
        jitter: rng.random_range(0.1..0.4),
        wander: rng.random_range(0.15..0.5),
        cut_mm: pitch_mm * rng.random_range(8.0..50.0),
        taper_mm: 0.25 * pitch_mm,
        ragged_mm: rng.random_range(0.004..0.02),
        dash_mm: if rng.random_bool(0.2) {
            2.0 * pitch_mm
        } else {
            0.0
        },
        pitch_mm,
        ..burin(rng)
    }
}

pub(super) fn ruled(rng: &mut ChaCha8Rng) -> Hatch {
    Hatch {
        from_tone: 0.0,
        jitter: rng.random_range(0.0..0.03),
        wander: 0.0,
        cut_mm: 1e4,
        dash_mm: 0.0,
        taper_mm: 0.02,
        ..burin(rng)
    }
}
