//! The blocks of one scan: every code is passed, no coefficient is kept (T.81, annexes F.2 and G.2).

use super::huffman::{Bits, END_OF_BLOCK, Table};

const NO_CODE: &str = "its picture data holds a code that does not exist";
const OVERRUN: &str = "its picture data runs over the end of a block";
const DC_RANGE: &str = "its picture data holds a brightness that does not exist";
/// Why a scan with too little data cannot be trusted.
pub(super) const TOO_FEW: &str = "part of its picture data is missing";
/// Why a scan with too much data cannot be trusted.
pub(super) const TOO_MANY: &str = "its picture data goes on after the last block";

/// What one scan codes of its blocks.
pub(super) enum Procedure<'a> {
    /// Whole blocks; the tables of each block of an MCU, DC and AC.
    Sequential(Vec<(Dc<'a>, &'a Table)>),
    /// DC coefficients for the first time; the table of each block of an MCU.
    DcFirst(Vec<Dc<'a>>),
    /// One more bit of the DC coefficient of each of these many blocks of an MCU.
    DcRefine(usize),
    /// AC coefficients of one component for the first time; of every block of it, which are known to be other than
    /// nought.
    AcFirst(Band<'a>, &'a mut [u64]),
    /// One more bit of the AC coefficients of one component; known as above.
    AcRefine(Band<'a>, &'a mut [u64]),
}

/// How the DC coefficients of one component are coded.
#[derive(Clone, Copy)]
pub(super) struct Dc<'a> {
    /// DC table.
    pub(super) table: &'a Table,
    /// Largest category of a difference.
    pub(super) largest: u8,
    /// Farthest a coefficient may be from nought.
    pub(super) limit: i32,
    /// Number of the component, below four.
    pub(super) component: usize,
}

/// A band of the AC coefficients of one component.
#[derive(Clone, Copy)]
pub(super) struct Band<'a> {
    /// AC table.
    pub(super) table: &'a Table,
    /// First coefficient, Ss: 1 to 63.
    pub(super) first: u32,
    /// Last coefficient, Se: Ss to 63.
    pub(super) last: u32,
}

impl Procedure<'_> {
    /// Passes `count` MCUs from the one numbered `start` on: one restart interval.
    pub(super) fn pass(
        &mut self,
        bits: &mut Bits,
        start: usize,
        count: usize,
    ) -> Result<(), &'static str> {
        match self {
            Self::Sequential(coders) => each_mcu(coders, bits, count, sequential),
            Self::DcFirst(coders) => each_mcu(coders, bits, count, dc),
            Self::DcRefine(blocks) => {
                bits.skip((*blocks as u64).saturating_mul(count as u64));
                if bits.is_over() { Err(TOO_FEW) } else { Ok(()) }
            }
            Self::AcFirst(band, known) => each_block(
                known.get_mut(start..start + count),
                bits,
                |known, bits, ended| ac_first(band, known, bits, ended),
            ),
            Self::AcRefine(band, known) => each_block(
                known.get_mut(start..start + count),
                bits,
                |known, bits, ended| ac_refine(band, known, bits, ended),
            ),
        }
    }
}

/// The last DC coefficient of each component.
type Predictions = [i32; 4];

#[inline]
fn each_mcu<Coder>(
    coders: &[Coder],
    bits: &mut Bits,
    count: usize,
    block: impl Fn(&Coder, &mut Bits, &mut Predictions) -> Result<(), &'static str>,
) -> Result<(), &'static str> {
    let mut predictions = Predictions::default();
    for _ in 0..count {
        for coder in coders {
            block(coder, bits, &mut predictions)?;
        }
        if bits.is_over() {
            return Err(TOO_FEW);
        }
    }
    Ok(())
}

#[inline]
fn dc(dc: &Dc, bits: &mut Bits, predictions: &mut Predictions) -> Result<(), &'static str> {
    let category = bits.symbol(dc.table).ok_or(NO_CODE)?;
    if category > dc.largest {
        return Err(DC_RANGE);
    }
    let prediction = predictions.get_mut(dc.component).ok_or(DC_RANGE)?;
    // Each is checked, so that the sum stays small.
    *prediction += bits.difference(category);
    if prediction.abs() > dc.limit {
        Err(DC_RANGE)
    } else {
        Ok(())
    }
}

#[inline]
fn sequential(
    (first, ac): &(Dc, &Table),
    bits: &mut Bits,
    predictions: &mut Predictions,
) -> Result<(), &'static str> {
    dc(first, bits, predictions)?;
    let mut next = 1_u32;
    while next < 64 {
        next += u32::from(bits.step(ac).ok_or(NO_CODE)?);
    }
    // An end of block comes from within the block; a run may fill it, no more.
    let end = u32::from(END_OF_BLOCK);
    if next == 64 || (end..end + 64).contains(&next) {
        Ok(())
    } else {
        Err(OVERRUN)
    }
}

/// Passes blocks by `coded`, which keeps count of the blocks that end at once (an EOBRUN of T.81, G.1.2.2).
#[inline]
fn each_block(
    blocks: Option<&mut [u64]>,
    bits: &mut Bits,
    coded: impl Fn(&mut u64, &mut Bits, &mut u32) -> Result<(), &'static str>,
) -> Result<(), &'static str> {
    let mut ended = 0;
    for known in blocks.ok_or(TOO_MANY)? {
        coded(known, bits, &mut ended)?;
        if bits.is_over() {
            return Err(TOO_FEW);
        }
    }
    if ended > 0 { Err(TOO_MANY) } else { Ok(()) }
}

/// Blocks of an EOBRUN whose category has been read, this one among them.
#[inline]
fn run_of_ends(category: u8, bits: &mut Bits) -> u32 {
    (1 << category) + bits.take(category)
}

/// Zeros before the next coefficient of a progressive scan, and its category; none where the blocks that end here are
/// counted instead.
#[inline]
fn run_and_size(
    band: &Band,
    bits: &mut Bits,
    ended: &mut u32,
) -> Result<Option<(u8, u8)>, &'static str> {
    let symbol = bits.symbol(band.table).ok_or(NO_CODE)?;
    let (run, size) = (symbol >> 4, symbol & 15);
    if size == 0 && run < 15 {
        *ended = run_of_ends(run, bits);
        return Ok(None);
    }
    Ok(Some((run, size)))
}

#[inline]
fn ac_first(
    band: &Band,
    known: &mut u64,
    bits: &mut Bits,
    ended: &mut u32,
) -> Result<(), &'static str> {
    let mut next = band.first;
    while *ended == 0 && next <= band.last {
        let Some((run, size)) = run_and_size(band, bits, ended)? else {
            break;
        };
        next += u32::from(run);
        if next > band.last {
            return Err(OVERRUN);
        }
        if size > 0 {
            bits.take(size);
            *known |= 1 << next;
        }
        next += 1;
    }
    *ended = ended.saturating_sub(1);
    Ok(())
}

fn ac_refine(
    band: &Band,
    known: &mut u64,
    bits: &mut Bits,
    ended: &mut u32,
) -> Result<(), &'static str> {
    let mut next = band.first;
    while *ended == 0 && next <= band.last {
        let Some((run, size)) = run_and_size(band, bits, ended)? else {
            break;
        };
        if size > 1 {
            return Err(NO_CODE);
        }
        let place = place_after(*known, next, band.last, run).ok_or(OVERRUN)?;
        // The sign of the new coefficient, and one bit of each old one that was passed.
        let old = between(next, place) & *known;
        bits.skip(u64::from(size) + u64::from(old.count_ones()));
        *known |= u64::from(size) << place;
        next = place + 1;
    }
    if *ended > 0 {
        *ended -= 1;
        let old = between(next, band.last + 1) & *known;
        bits.skip(u64::from(old.count_ones()));
    }
    Ok(())
}

/// Coefficients from `first` up to `end`, which is not among them.
fn between(first: u32, end: u32) -> u64 {
    let below = |end: u32| 1_u64.checked_shl(end).map_or(u64::MAX, |bit| bit - 1);
    below(end) & !below(first)
}

/// The coefficient after `run` others that were nought, as this one was; those known to be other than nought do not
/// count.
fn place_after(known: u64, first: u32, last: u32, run: u8) -> Option<u32> {
    let mut open = !known & between(first, last + 1);
    for _ in 0..run {
        open &= open.wrapping_sub(1);
    }
    (open != 0).then(|| open.trailing_zeros())
}
