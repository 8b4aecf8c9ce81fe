//! Intaglio plates: stipple, burin and etched line.

pub mod crowd;
pub mod dot;
pub mod hatch;
pub mod manner;
pub mod stipple;
pub mod wiping;

use super::drawing::Drawing;
use super::drawing::form::Kind;
use super::drawing::stroke::{Edge, Stroke};
use super::noise::Noise;
use super::sheet::HatchTruth;
use crate::plane::Plane;
use hatch::Hatch;
use manner::Manner;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use stipple::StippleHand;

/// What the key plate or stone prints, and what is known of it.
#[derive(Clone, Debug)]
pub struct Key {
    /// Cover of the ink, 0–1.
    pub cover: Plane,
    /// Hatching, largest share first.
    pub hatching: Vec<HatchTruth>,
    /// Stone grains per mm where a stone was used.
    pub grains_per_mm: Option<f64>,
}

impl Key {
    /// A key with neither hatching nor stone grain.
    #[must_use]
    pub fn plain(cover: Plane) -> Self {
        Self {
            cover,
            hatching: Vec::new(),
            grains_per_mm: None,
        }
    }
}

/// How soft the edges of intaglio marks print, µm: ink stands in relief and spreads a little into
/// damp paper (from memory: a few µm to some 15 µm).
const EDGE_UM: std::ops::Range<f64> = 2.0..15.0;

/// A stipple plate of the drawing.
pub fn stippled(drawing: &Drawing, rng: &mut ChaCha8Rng) -> Key {
    let edge = Edge::new(drawing.px_per_mm, rng.random_range(EDGE_UM));
    let mut cover = Plane::zeros(drawing.shape());
    let hand = StippleHand::random(rng);
    hand.lay(drawing, |p| drawing.region[p] > 0, &mut cover, edge, rng);
    match rng.random_range(0..10) {
        0..4 => dot_outlines(drawing, &hand, &mut cover, edge, rng),
        4..7 => lay_lines(&drawing.outlines, 0.0, &mut cover, edge, rng),
        _ => {}
    }
    let mut hatching = Vec::new();
    if rng.random_bool(0.12) {
        // Some line work in the darkest passages of a few forms.
        let mut systems = manner::systems(Manner::Burin, rng);
        for system in &mut systems {
            system.from_tone = system.from_tone.max(0.6);
        }
        let chosen = some_forms(drawing, 0.35, rng);
        hatching = lay_systems(&systems, drawing, &chosen, &mut cover, edge);
    }
    finish(drawing, &mut cover, edge, rng);
    Key {
        hatching,
        ..Key::plain(cover)
    }
}

/// An engraved or etched plate of the drawing.
pub fn lined(drawing: &Drawing, rng: &mut ChaCha8Rng) -> Key {
    let edge = Edge::new(drawing.px_per_mm, rng.random_range(EDGE_UM));
    let mut cover = Plane::zeros(drawing.shape());
    let manner = if rng.random_bool(0.65) {
        Manner::Burin
    } else {
        Manner::Etched
    };
    let ruled = ground_to_rule(drawing, rng);
    // Mixed manner: stipple in the lights of some forms, lines still predominate.
    let dotted = if rng.random_bool(0.2) {
        fewer_than_lined(drawing, some_forms(drawing, 0.25, rng))
    } else {
        vec![false; 256]
    };
    let by_line: Vec<bool> = (0..256)
        .map(|r| r > 0 && !dotted[r] && Some(r) != ruled)
        .collect();
    let systems = manner::systems(manner, rng);
    let mut hatching = lay_systems(&systems, drawing, &by_line, &mut cover, edge);
    if let Some(region) = ruled {
        let only: Vec<bool> = (0..256).map(|r| r == region).collect();
        let sky = manner::systems(Manner::Ruled, rng);
        let more = lay_systems(&sky, drawing, &only, &mut cover, edge);
        hatching = joined(hatching, more, drawing, region);
    }
    if dotted.contains(&true) {
        let hand = StippleHand::random(rng);
        let here = |p: [usize; 2]| dotted[usize::from(drawing.region[p])];
        hand.lay(drawing, here, &mut cover, edge, rng);
    }
    if systems[0].dash_mm > 0.0 && systems.len() > 1 && rng.random_bool(0.5) {
        lay_lozenge_dots(&systems, drawing, &by_line, &mut cover, edge);
    }
    let ragged = systems[0].ragged_mm;
    lay_lines(&drawing.outlines, ragged, &mut cover, edge, rng);
    finish(drawing, &mut cover, edge, rng);
    Key {
        hatching,
        ..Key::plain(cover)
    }
}

/// Which regions (by number in the drawing) are chosen, each form with the same chance.
fn some_forms(drawing: &Drawing, chance: f64, rng: &mut ChaCha8Rng) -> Vec<bool> {
    let mut chosen = vec![false; 256];
    for choice in chosen.iter_mut().skip(1).take(drawing.forms.len()) {
        *choice = rng.random_bool(chance);
    }
    chosen
}

/// Takes forms out, those in front first, until dots carry no more than their part of the tone in view.
fn fewer_than_lined(drawing: &Drawing, mut dotted: Vec<bool>) -> Vec<bool> {
    /// Share of the drawn view that may be dotted on a plate of lines.
    const MOST_DOTTED: f64 = 0.35;
    let drawn = drawing.share_of_middle(|p| drawing.region[p] > 0);
    while let Some(front) = dotted.iter().rposition(|&d| d) {
        let share = drawing.share_of_middle(|p| dotted[usize::from(drawing.region[p])]);
        if share <= MOST_DOTTED * drawn {
            break;
        }
        dotted[front] = false;
    }
    dotted
}

/// The region of a ground that a ruling machine lays, on some plates that have one.
fn ground_to_rule(drawing: &Drawing, rng: &mut ChaCha8Rng) -> Option<usize> {
    let ground = drawing.forms.iter().position(|f| f.kind == Kind::Ground)?;
    rng.random_bool(0.6).then_some(ground + 1)
}

fn lay_systems(
    systems: &[Hatch],
    drawing: &Drawing,
    regions: &[bool],
    cover: &mut Plane,
    edge: Edge,
) -> Vec<HatchTruth> {
    let here = |p: [usize; 2]| regions[usize::from(drawing.region[p])];
    for system in systems {
        system.lay(drawing, here, cover, edge);
    }
    hatch::truth(systems, drawing, here, edge)
}

/// Joins the truth of two parts of a plate, weighing each by the tone that it carries.
fn joined(
    mut lines: Vec<HatchTruth>,
    mut sky: Vec<HatchTruth>,
    drawing: &Drawing,
    sky_region: usize,
) -> Vec<HatchTruth> {
    let (mut sky_tone, mut all) = (0.0, 1e-9);
    for (&tone, &region) in drawing.tone.iter().zip(&drawing.region) {
        all += f64::from(tone);
        if usize::from(region) == sky_region {
            sky_tone += f64::from(tone);
        }
    }
    let share = sky_tone / all;
    lines.iter_mut().for_each(|h| h.share *= 1.0 - share);
    sky.iter_mut().for_each(|h| h.share *= share);
    lines.extend(sky);
    lines.sort_by(|a, b| b.share.total_cmp(&a.share));
    lines
}

fn dot_outlines(
    drawing: &Drawing,
    hand: &StippleHand,
    cover: &mut Plane,
    edge: Edge,
    rng: &mut ChaCha8Rng,
) {
    for outline in &drawing.outlines {
        for (place, width) in
            outline.dotted(rng.random_range(0.8..1.3) * hand.diameter_mm[1] + 0.02)
        {
            let radius = (0.5 * width).clamp(0.012, 0.6 * hand.diameter_mm[1]);
            hand.shape
                .dot(place, radius * rng.random_range(0.6..1.2), rng)
                .lay(cover, edge);
        }
    }
}

/// Lays strokes with edges that waver by `ragged_mm`.
pub(super) fn lay_lines(
    strokes: &[Stroke],
    ragged_mm: f32,
    cover: &mut Plane,
    edge: Edge,
    rng: &mut ChaCha8Rng,
) {
    let noise = Noise::new(rng);
    let fine = 0.7 / ragged_mm.max(0.008);
    for stroke in strokes {
        let strength = rng.random_range(0.85..1.0);
        stroke.lay(cover, edge, strength, |x, y| {
            if ragged_mm > 0.0 {
                ragged_mm * noise.at(x * fine, y * fine)
            } else {
                0.0
            }
        });
    }
}

/// A dot in the middle of each lozenge that the first two systems leave open.
fn lay_lozenge_dots(
    systems: &[Hatch],
    drawing: &Drawing,
    regions: &[bool],
    cover: &mut Plane,
    edge: Edge,
) {
    let (a, b) = (&systems[0], &systems[1]);
    ndarray::Zip::indexed(cover).par_for_each(|(y, x), ink| {
        let pixel = [y, x];
        let tone = drawing.tone[pixel];
        if !regions[usize::from(drawing.region[pixel])] || tone < b.from_tone {
            return;
        }
        let along = |h: &Hatch| {
            let u = h.turn.cos() * drawing.across[pixel] + h.turn.sin() * drawing.along[pixel];
            let phase = u / h.pitch_mm;
            (phase - phase.round()) * h.pitch_mm
        };
        let off = along(a).hypot(along(b));
        let radius = 0.16 * a.pitch_mm * (0.5 + tone);
        *ink = ink.max(edge.cover(radius - off));
    });
}

/// What every plate gets: letters, and the film that wiping leaves.
fn finish(drawing: &Drawing, cover: &mut Plane, edge: Edge, rng: &mut ChaCha8Rng) {
    lay_lines(&drawing.lettering, 0.0, cover, edge, rng);
    wiping::leave_tone(cover, drawing.px_per_mm, rng);
}
