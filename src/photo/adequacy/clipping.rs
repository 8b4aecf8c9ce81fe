//! How much of the field is lost to white or black.

use crate::measured::Measured;
use crate::photo::Field;
use crate::photo::field::{CLIPPED_BLACK, CLIPPED_WHITE};
use crate::plane::Rgb;
use rayon::prelude::*;

/// Every so many rows are counted: thousands of rows tell a share to a fraction of a percent.
const ROW_STEP: usize = 3;
/// Share of the radius counted, so that the rim is not.
const INSIDE_RIM: f64 = 0.97;
/// Pixels of one light or shadow are lost together: a clipped patch spans about so many.
const PATCH_PX: f64 = 256.0;

/// Share of the field's pixels with a channel clipped white, or all channels black.
pub(super) fn share(linear: &Rgb, field: &Field) -> Measured {
    let (height, width) = linear[0].dim();
    let (lost, all) = (0..height)
        .into_par_iter()
        .step_by(ROW_STEP)
        .map(|y| {
            let [red, green, blue] = linear.each_ref().map(|plane| plane.row(y));
            let span = columns(field, y, width);
            let lost = span
                .clone()
                .filter(|x| is_lost([red[*x], green[*x], blue[*x]]))
                .count();
            (lost, span.len())
        })
        .reduce(|| (0, 0), |a, b| (a.0 + b.0, a.1 + b.1));
    if all == 0 {
        return Measured::missing("the field holds no pixels");
    }
    let value = lost as f64 / all as f64;
    Measured::with_share(value, (all as f64 / PATCH_PX).max(1.0), all)
}

fn is_lost([r, g, b]: [f32; 3]) -> bool {
    let most = r.max(g).max(b);
    most >= CLIPPED_WHITE || most <= CLIPPED_BLACK
}

/// Columns of a row inside the field.
fn columns(field: &Field, y: usize, width: usize) -> std::ops::Range<usize> {
    match *field {
        Field::Frame => 0..width,
        Field::Round { cx, cy, radius } => {
            let r = INSIDE_RIM * radius;
            let off = y as f64 - cy;
            if off.abs() >= r {
                return 0..0;
            }
            let half = (r * r - off * off).sqrt();
            let first = (cx - half).ceil().clamp(0.0, width as f64) as usize;
            let end = (cx + half).floor().clamp(first as f64, width as f64) as usize;
            first..end
        }
    }
}
