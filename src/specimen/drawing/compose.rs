//! Putting forms on a sheet: close-ups, scattered subjects, flowers, grounds.

use super::Drawing;
use super::form::{Form, Kind};
use super::lettering::Hand;
use super::stroke::Stroke;
use crate::plane::Plane;
use ndarray::{Array2, Zip};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, LogNormal};

/// How a frame is filled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Layout {
    /// One form fills the frame and more.
    CloseUp,
    /// Several forms scattered over the sheet.
    Scattered,
    /// Petals and leaves about one point.
    Flower,
}

/// Least share of a sheet that forms must cover, so that there is something to measure.
const LEAST_DRAWN_SHARE: f64 = 0.3;
/// How often another form is added to a sheet that is too empty.
const ADDED_FORMS: usize = 6;
/// Smallest sheet side that is composed, mm, so that no length is zero.
const LEAST_SIDE_MM: f32 = 0.05;

/// A random drawing for a sheet of `size_px` (width, height).
pub fn random(px_per_mm: f64, size_px: [usize; 2], rng: &mut ChaCha8Rng) -> Drawing {
    let layout = match rng.random_range(0..20) {
        0..5 => Layout::CloseUp,
        5..13 => Layout::Scattered,
        _ => Layout::Flower,
    };
    let sheet_mm = size_px
        .map(|n| (n as f64 / px_per_mm) as f32)
        .map(|n| n.max(LEAST_SIDE_MM));
    let mut forms = Vec::new();
    if rng.random_bool(0.25) {
        forms.push(ground(sheet_mm, rng));
    }
    forms.extend(match layout {
        Layout::CloseUp => close_up(sheet_mm, rng),
        Layout::Scattered => scattered(sheet_mm, rng),
        Layout::Flower => flower(sheet_mm, rng),
    });
    let mut drawing = of_forms(px_per_mm, size_px, forms);
    for _ in 0..ADDED_FORMS {
        if drawing.drawn_share() >= LEAST_DRAWN_SHARE {
            break;
        }
        drawing.forms.extend(close_up(sheet_mm, rng));
        drawing = of_forms(px_per_mm, size_px, drawing.forms);
    }
    drawing.outlines = seen_contours(&drawing, rng);
    if rng.random_bool(0.15) {
        drawing.lettering = caption(sheet_mm, rng);
    }
    drawing
}

/// A drawing of given forms, those in front last, without outlines or letters. At most 255 forms
/// are seen.
#[must_use]
pub fn of_forms(px_per_mm: f64, size_px: [usize; 2], mut forms: Vec<Form>) -> Drawing {
    forms.truncate(255);
    let shape = (size_px[1], size_px[0]);
    let mut drawing = Drawing {
        px_per_mm,
        tone: Plane::zeros(shape),
        across: Plane::zeros(shape),
        along: Plane::zeros(shape),
        edge: Plane::zeros(shape),
        region: Array2::zeros(shape),
        forms,
        outlines: Vec::new(),
        lettering: Vec::new(),
    };
    paint(&mut drawing);
    drawing
}

fn paint(drawing: &mut Drawing) {
    let scale = 1.0 / drawing.px_per_mm as f32;
    let forms = &drawing.forms;
    let mut coordinates = Array2::from_elem(drawing.tone.dim(), [0.0_f32; 2]);
    Zip::indexed(&mut drawing.tone)
        .and(&mut coordinates)
        .and(&mut drawing.edge)
        .and(&mut drawing.region)
        .par_for_each(|(y, x), tone, coordinates, edge, region| {
            let place = [(x as f32 + 0.5) * scale, (y as f32 + 0.5) * scale];
            for (i, form) in forms.iter().enumerate().rev() {
                if let Some(seen) = form.at(place) {
                    *tone = seen.tone;
                    *coordinates = [seen.across_mm, seen.along_mm];
                    *edge = seen.edge_mm;
                    *region = (i + 1) as u8;
                    break;
                }
            }
        });
    drawing.across = coordinates.mapv(|c| c[0]);
    drawing.along = coordinates.mapv(|c| c[1]);
}

fn anywhere(sheet_mm: [f32; 2], rng: &mut ChaCha8Rng) -> [f32; 2] {
    sheet_mm.map(|side| rng.random_range(0.0..1.0) * side)
}

/// Natural length of a subject's part on the sheet, cut so that it suits the frame.
fn half_length_mm(sheet_mm: [f32; 2], rng: &mut ChaCha8Rng) -> f32 {
    let frame = sheet_mm[0].max(sheet_mm[1]);
    // Parts of natural-history plates are mostly 5–30 mm long (from memory).
    let natural = LogNormal::new(2.0_f32, 0.6).map_or(7.0, |law| law.sample(rng));
    natural.clamp(0.18 * frame, 1.5 * frame)
}

fn ground(sheet_mm: [f32; 2], rng: &mut ChaCha8Rng) -> Form {
    let centre = sheet_mm.map(|side| 0.5 * side);
    Form::of_kind(Kind::Ground, centre, 1.2 * (sheet_mm[0] + sheet_mm[1]), rng)
}

fn close_up(sheet_mm: [f32; 2], rng: &mut ChaCha8Rng) -> Vec<Form> {
    let frame = sheet_mm[0].max(sheet_mm[1]);
    let centre = sheet_mm.map(|side| side * rng.random_range(0.25..0.75));
    let mut form = Form::random(centre, frame * rng.random_range(0.9..3.0), rng);
    form.half_width_mm = form.half_width_mm.max(frame * rng.random_range(0.35..1.2));
    // As many folds within the frame as a whole form would show.
    form.fold_count *= (form.half_length_mm / frame).max(1.0);
    let mut forms = vec![form];
    for _ in 0..rng.random_range(0..3) {
        let size = frame * rng.random_range(0.2..0.8);
        forms.push(Form::random(anywhere(sheet_mm, rng), size, rng));
    }
    forms
}

fn scattered(sheet_mm: [f32; 2], rng: &mut ChaCha8Rng) -> Vec<Form> {
    (0..rng.random_range(3..14))
        .map(|_| {
            let size = half_length_mm(sheet_mm, rng) * rng.random_range(0.4..1.1);
            Form::random(anywhere(sheet_mm, rng), size, rng)
        })
        .collect()
}

fn flower(sheet_mm: [f32; 2], rng: &mut ChaCha8Rng) -> Vec<Form> {
    let heart = sheet_mm.map(|side| side * rng.random_range(0.2..0.8));
    let size = half_length_mm(sheet_mm, rng);
    let mut forms = vec![Form::of_kind(Kind::Stem, heart, 2.0 * size, rng)];
    for _ in 0..rng.random_range(2..7) {
        let away: f32 = rng.random_range(0.0..std::f32::consts::TAU);
        let centre = [
            heart[0] + 0.8 * size * away.cos(),
            heart[1] + 0.8 * size * away.sin(),
        ];
        let kind = if rng.random_bool(0.3) {
            Kind::Leaf
        } else {
            Kind::Petal
        };
        forms.push(Form::of_kind(
            kind,
            centre,
            size * rng.random_range(0.6..1.1),
            rng,
        ));
    }
    forms
}

/// Contours of every form, without what the forms in front hide. On some sheets there are none.
fn seen_contours(drawing: &Drawing, rng: &mut ChaCha8Rng) -> Vec<Stroke> {
    if rng.random_bool(0.2) {
        return Vec::new();
    }
    let sheet_mm = drawing.shape().1.max(drawing.shape().0) as f64 / drawing.px_per_mm;
    // Contours of 0.06–0.3 mm, finer where the frame is small.
    let width_mm = rng.random_range(0.06..0.3) * (sheet_mm as f32 / 8.0).clamp(0.4, 1.0);
    let mut seen = Vec::new();
    for (i, form) in drawing.forms.iter().enumerate() {
        if rng.random_bool(0.1) {
            continue;
        }
        for contour in form.contours(width_mm * rng.random_range(0.5..1.2)) {
            seen.extend(contour.visible(|place| {
                drawing
                    .pixel_at(place)
                    .is_some_and(|p| usize::from(drawing.region[p]) <= i + 1)
            }));
        }
    }
    seen
}

fn caption(sheet_mm: [f32; 2], rng: &mut ChaCha8Rng) -> Vec<Stroke> {
    let height = (sheet_mm[1] * rng.random_range(0.03..0.12)).clamp(0.5, 4.0);
    let hand = Hand::random(height, rng);
    let start = [
        sheet_mm[0] * rng.random_range(0.0..0.5),
        sheet_mm[1] * rng.random_range(0.1..0.98),
    ];
    hand.line(start, sheet_mm[0] * rng.random_range(0.2..0.6), rng)
}
