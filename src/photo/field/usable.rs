//! Which pixels may be measured.

use super::{Field, FoundField};
use crate::plane::{Mask, Plane, Rgb};
use ndarray::Array2;
use rayon::prelude::*;

/// Side of the blocks in which glare and lost shadows are judged, px: larger than a mark's
/// highlight, smaller than a reflection of a lamp.
const BLOCK_PX: usize = 8;
/// Linear light from which on a channel counts as clipped: code 250 of 255 in sRGB. JPEG
/// ringing scatters clipped pixels over the last few codes.
pub(in crate::photo) const CLIPPED_WHITE: f32 = 0.956;
/// Linear light up to which a channel counts as clipped to black: code 0 in sRGB, with half a
/// code's margin.
pub(in crate::photo) const CLIPPED_BLACK: f32 = 0.000_15;
/// Share of clipped pixels that makes a block part of a reflection.
const GLARE_BLOCK_SHARE: f32 = 0.25;
/// Reflections stand on paper darker than this (linear light): paper itself close to the
/// encoding's white is bright, not glaring.
const PAPER_UNDER_GLARE: f32 = 0.75;
/// Largest share of the field that reflections may take; more than that is an overexposed
/// sheet, and leaving it out would leave nothing to look at.
const LARGEST_GLARE_SHARE: f64 = 0.1;
/// Blocks around a reflection or a surround left out with it: its halo, and blocks that are partly of it.
const HALO_BLOCKS: usize = 1;
/// Margin inside the rim: so many of its 10–90 % widths, and so many px.
const RIM_WIDTHS: f64 = 1.0;
const RIM_MARGIN_PX: f64 = 2.0;
/// A black region touching the frame is left out from this share of the frame on: a scanner's
/// lid or a finger, not ink.
const LEAST_BLACK_SHARE: f64 = 0.01;
/// Share of a block's pixels that may be other than pure black or pure white.
const NOT_PURE: f32 = 0.01;
/// A pure white region touching the frame is left out from this share of the frame on, as a scanner's lid or a
/// cut-out's background, where the rest holds no more clipped pixels than this share and its paper, the bright side
/// of its blocks, stays under this linear light (code 230 of 255).
const LEAST_WHITE_SHARE: f64 = 0.05;
const WHITE_ON_SHEET: f32 = 0.01;
const PAPER_BESIDE_WHITE: f32 = 0.79;

/// The pixels that show the sheet, and what lies beside it.
#[derive(Debug)]
pub struct Sheet {
    /// Where the sheet is seen, reflections included.
    pub seen: Mask,
    /// Blocks in reflections.
    glare: Mask,
    /// What was left out.
    pub beside: Beside,
}

/// Shares of the frame that show no sheet, 0–1.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Beside {
    /// Transparent.
    pub transparent: f64,
    /// A black surround that is none of a round field's.
    pub black: f64,
    /// A white background.
    pub white: f64,
    /// A border of one colour that software has put around.
    pub border: f64,
}

pub(super) fn sheet(linear: &Rgb, found: &FoundField, opaque: Option<&Mask>) -> Sheet {
    let (height, width) = linear[0].dim();
    let mut seen = Array2::from_elem((height, width), true);
    if let Field::Round { cx, cy, radius } = found.field {
        let margin = RIM_WIDTHS * found.softness_px + RIM_MARGIN_PX;
        keep_disc(&mut seen, cx, cy, (radius - margin).max(0.0));
    }
    let mut beside = Beside {
        border: super::border::strike_out(linear, &mut seen),
        ..Beside::default()
    };
    if let Some(opaque) = opaque {
        beside.transparent = share_of(opaque.iter().filter(|o| !**o).count(), opaque.len());
        seen.zip_mut_with(opaque, |u, o| *u &= *o);
    }
    let mut blocks = Blocks::of(linear, &seen);
    let before = count_of(&seen);
    strike_out(&mut seen, &blocks.black_surround());
    beside.black = share_of(before - count_of(&seen), seen.len());
    if let Some(white) = blocks.white_surround() {
        beside.white = share_of(white.iter().filter(|v| **v).count(), white.len());
        strike_out(&mut seen, &white);
        // A background would pass for reflections, or hide them by its size.
        blocks = Blocks::of(linear, &seen);
    }
    Sheet {
        seen,
        glare: blocks.glare(),
        beside,
    }
}

impl Sheet {
    /// The pixels that may be measured: those of the sheet that are not in a reflection.
    #[must_use]
    pub fn without_glare(self) -> Mask {
        let mut usable = self.seen;
        strike_out(&mut usable, &self.glare);
        usable
    }
}

fn count_of(mask: &Mask) -> usize {
    mask.iter().filter(|v| **v).count()
}

fn share_of(count: usize, all: usize) -> f64 {
    count as f64 / all.max(1) as f64
}

/// Strikes out everything beyond a radius, row by row as two runs.
fn keep_disc(usable: &mut Mask, cx: f64, cy: f64, radius: f64) {
    let width = usable.ncols();
    for (y, mut row) in usable.rows_mut().into_iter().enumerate() {
        let off = y as f64 - cy;
        let half = (radius * radius - off * off).max(0.0).sqrt();
        let inside = if off.abs() <= radius {
            let first = (cx - half).ceil().clamp(0.0, width as f64) as usize;
            let end = ((cx + half).floor() + 1.0).clamp(first as f64, width as f64) as usize;
            first..end
        } else {
            0..0
        };
        for (x, cell) in row.iter_mut().enumerate() {
            *cell &= inside.contains(&x);
        }
    }
}

/// Share of clipped pixels in each block of usable pixels.
struct Blocks {
    /// All three channels clipped white, share of the usable pixels.
    white: Plane,
    /// All three channels black, share of all pixels.
    black: Plane,
    /// Mean light of the usable, unclipped pixels; 0 where there are none.
    light: Plane,
    /// Number of usable pixels.
    usable: Array2<u32>,
}

#[derive(Clone, Copy, Default)]
struct Count {
    all: u32,
    usable: u32,
    white: u32,
    black: u32,
    light: f32,
}

impl Blocks {
    fn of(linear: &Rgb, usable: &Mask) -> Self {
        let (height, width) = usable.dim();
        let (rows, columns) = (height.div_ceil(BLOCK_PX), width.div_ceil(BLOCK_PX));
        let mut counts = vec![Count::default(); rows * columns];
        counts
            .par_chunks_mut(columns.max(1))
            .enumerate()
            .for_each(|(row, out)| {
                for y in row * BLOCK_PX..((row + 1) * BLOCK_PX).min(height) {
                    count_line(linear, usable, y, out);
                }
            });
        let plane = |f: &dyn Fn(&Count) -> f32| {
            Array2::from_shape_fn((rows, columns), |(y, x)| f(&counts[y * columns + x]))
        };
        Self {
            white: plane(&|c| c.white as f32 / c.usable.max(1) as f32),
            black: plane(&|c| c.black as f32 / c.all.max(1) as f32),
            light: plane(&|c| c.light / c.usable.saturating_sub(c.white).max(1) as f32),
            usable: Array2::from_shape_fn((rows, columns), |(y, x)| counts[y * columns + x].usable),
        }
    }

    /// Blocks in small bright reflections and their halo.
    fn glare(&self) -> Mask {
        let none = Array2::from_elem(self.white.dim(), false);
        let cells = self.light.iter().zip(&self.usable);
        let seen = cells.filter(|(_, n)| **n > 0);
        let lights: Vec<f32> = seen.map(|(light, _)| *light).collect();
        // Paper is the bright side of the field: nine blocks in ten are no brighter.
        let paper = super::rim::quantile(lights.iter().copied(), 0.9);
        if paper >= PAPER_UNDER_GLARE {
            return none;
        }
        let clipped = self.white.mapv(|share| share >= GLARE_BLOCK_SHARE);
        let count = clipped.iter().filter(|v| **v).count();
        if count == 0 || count as f64 > LARGEST_GLARE_SHARE * lights.len() as f64 {
            return none;
        }
        widened(&clipped, HALO_BLOCKS)
    }

    /// Black blocks connected to the frame, and those beside them, where they make up a large region.
    fn black_surround(&self) -> Mask {
        let light = self.black.mapv(|share| 1.0 - share);
        let region = super::rim::flood_from_border(&light, NOT_PURE);
        let size = region.iter().filter(|v| **v).count();
        if size as f64 >= LEAST_BLACK_SHARE * region.len() as f64 {
            widened(&region, HALO_BLOCKS)
        } else {
            Array2::from_elem(region.dim(), false)
        }
    }

    /// White blocks connected to the frame, and those beside them, where they make up a large region and the rest
    /// is a sheet that is hardly white anywhere: one overexposed is white between its marks too.
    fn white_surround(&self) -> Option<Mask> {
        let seen = self.usable.mapv(|n| n > 0);
        let grey = ndarray::Zip::from(&self.white)
            .and(&seen)
            .map_collect(|white, seen| if *seen { 1.0 - white } else { 1.0 });
        let region = super::rim::flood_from_border(&grey, NOT_PURE);
        let size = region.iter().filter(|v| **v).count();
        if (size as f64) < LEAST_WHITE_SHARE * region.len() as f64 {
            return None;
        }
        let surround = widened(&region, HALO_BLOCKS);
        let blocks = self.white.iter().zip(&self.light);
        let rest: Vec<(f32, f32)> = surround
            .iter()
            .zip(&seen)
            .zip(blocks)
            .filter(|((beside, seen), _)| !**beside && **seen)
            .map(|(_, (white, light))| (*white, *light))
            .collect();
        let white: f32 = rest.iter().map(|block| block.0).sum();
        let paper = super::rim::quantile(rest.iter().map(|block| block.1), 0.9);
        let darker = paper < PAPER_BESIDE_WHITE && white < WHITE_ON_SHEET * rest.len() as f32;
        (!rest.is_empty() && darker).then_some(surround)
    }
}

fn count_line(linear: &Rgb, usable: &Mask, y: usize, out: &mut [Count]) {
    let [red, green, blue] = linear.each_ref().map(|plane| plane.row(y));
    let row = usable.row(y);
    for (x, used) in row.iter().enumerate() {
        let count = &mut out[x / BLOCK_PX];
        let (r, g, b) = (red[x], green[x], blue[x]);
        count.all += 1;
        count.black += u32::from(r.max(g).max(b) <= CLIPPED_BLACK);
        if *used {
            count.usable += 1;
            if r.min(g).min(b) >= CLIPPED_WHITE {
                count.white += 1;
            } else {
                count.light += (r + g + b) / 3.0;
            }
        }
    }
}

fn widened(mask: &Mask, by: usize) -> Mask {
    let (rows, columns) = mask.dim();
    let mut wide = mask.clone();
    for ((y, x), set) in mask.indexed_iter() {
        if !set {
            continue;
        }
        for ny in y.saturating_sub(by)..(y + by + 1).min(rows) {
            for nx in x.saturating_sub(by)..(x + by + 1).min(columns) {
                wide[[ny, nx]] = true;
            }
        }
    }
    wide
}

fn strike_out(usable: &mut Mask, blocks: &Mask) {
    let height = usable.nrows();
    let width = usable.ncols();
    for ((row, column), set) in blocks.indexed_iter() {
        if !set {
            continue;
        }
        for y in row * BLOCK_PX..((row + 1) * BLOCK_PX).min(height) {
            for x in column * BLOCK_PX..((column + 1) * BLOCK_PX).min(width) {
                usable[[y, x]] = false;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_black_beside_the_sheet_is_left_out_and_told() {
        let with_black = |columns: usize| {
            // Paper is of no one colour.
            let paper = |y: usize, x: usize| 0.5 + 0.1 * ((x * 7 + y * 3) % 5) as f32 / 5.0;
            let plane = Plane::from_shape_fn((320, 400), |(y, x)| match x < columns {
                true => 0.0,
                false => paper(y, x),
            });
            sheet(
                &[plane.clone(), plane.clone(), plane],
                &FoundField::FRAME,
                None,
            )
        };
        let half = with_black(160);
        // With a halo of blocks.
        assert!(
            (0.4..0.45).contains(&half.beside.black),
            "{:?}",
            half.beside.black
        );
        assert!(!half.seen[[160, 80]] && half.seen[[160, 300]]);
        assert_eq!(with_black(0).beside.black, 0.0);
    }
}
