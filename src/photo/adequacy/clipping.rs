//! How much of the field is lost to white or black.

use crate::measured::Measured;
use crate::photo::field::{CLIPPED_BLACK, CLIPPED_WHITE};
use crate::plane::{Mask, Rgb};
use rayon::prelude::*;

/// Every so many rows are counted: thousands of rows tell a share to a fraction of a percent.
const ROW_STEP: usize = 3;
/// Pixels of one light or shadow are lost together: a clipped patch spans about so many.
const PATCH_PX: f64 = 256.0;

/// Share of the sheet's pixels with a channel clipped white, or all channels black; reflections count.
pub(in crate::photo) fn share(linear: &Rgb, sheet: &Mask) -> Measured {
    let (lost, all) = (0..sheet.nrows())
        .into_par_iter()
        .step_by(ROW_STEP)
        .map(|y| {
            let [red, green, blue] = linear.each_ref().map(|plane| plane.row(y));
            let seen = sheet.row(y);
            let seen = || (0..seen.len()).filter(|x| seen[*x]);
            let lost = seen().filter(|x| is_lost([red[*x], green[*x], blue[*x]]));
            (lost.count(), seen().count())
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
