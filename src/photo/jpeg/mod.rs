//! Whether the picture data of a JPEG is whole (ITU-T T.81).
//!
//! A decoder fills what a lost cluster or a cut leaves out with grey or garbage and says nothing, and that would be
//! measured as paper and ink. The codes themselves tell: every scan must hold just the blocks its header promises.

mod blocks;
mod frame;
mod huffman;
mod scan;
#[cfg(test)]
mod tests;

use blocks::{Procedure, TOO_FEW, TOO_MANY};
use frame::Frame;
use huffman::{Bits, Table};
use scan::{Scan, Tables};

const NO_FRAME: &str = "its frame header is missing";
const TWO_FRAMES: &str = "two pictures are mixed up in it";
const NO_END: &str = "it ends before its picture does";
const BAD_HEADER: &str = "its headers are damaged";
const NO_RESTART: &str = "its restart markers are out of order";

/// Why reading ends before the end-of-image marker.
enum Stop {
    /// Coded in a way that is not judged here; the decoder refuses most of them.
    Unjudged,
    /// The picture data cannot be trusted.
    Fault(&'static str),
}

impl From<&'static str> for Stop {
    fn from(why: &'static str) -> Self {
        Self::Fault(why)
    }
}

/// Why the picture data of a JPEG cannot be trusted, or nothing where every scan holds just the blocks its header
/// promises. Nothing, too, for what is not judged: arithmetic-coded, lossless and hierarchical pictures, those whose
/// height follows behind the first scan, and those that leave out their Huffman tables.
#[must_use]
pub fn fault(bytes: &[u8]) -> Option<&'static str> {
    match Picture::default().read(bytes) {
        Ok(()) | Err(Stop::Unjudged) => None,
        Err(Stop::Fault(why)) => Some(why),
    }
}

/// What the segments read so far have said.
#[derive(Default)]
struct Picture {
    frame: Option<Frame>,
    tables: Tables,
    /// MCUs between restart markers; nought for none.
    interval: usize,
}

impl Picture {
    /// Reads from the first segment up to the end of image.
    fn read(&mut self, bytes: &[u8]) -> Result<(), Stop> {
        let mut at = 2;
        loop {
            let (marker, after) = next_marker(bytes, at).ok_or(NO_END)?;
            at = after;
            match marker {
                0xD9 => return Ok(self.frame.as_ref().ok_or(NO_FRAME)?.complete()?),
                // Stand alone. A restart marker behind the last interval of a scan is one too many, and no harm.
                0x01 | 0xD0..=0xD8 => continue,
                _ => {}
            }
            let payload = segment(bytes, at).ok_or(NO_END)?;
            at += 2 + payload.len();
            match marker {
                0xC0..=0xC2 if self.frame.is_some() => return Err(TWO_FRAMES.into()),
                0xC0..=0xC2 => {
                    self.frame = Some(Frame::new(payload, marker == 0xC2).ok_or(Stop::Unjudged)?)
                }
                0xC4 => self.define_tables(payload).ok_or(BAD_HEADER)?,
                // Lossless, hierarchical and arithmetic-coded frames.
                0xC3 | 0xC5..=0xC7 | 0xC9..=0xCB | 0xCD..=0xCF | 0xDE => {
                    return Err(Stop::Unjudged);
                }
                0xDA => at += self.pass_scan(payload, bytes.get(at..).unwrap_or_default())?,
                0xDB => self.define_quantisers(payload).ok_or(BAD_HEADER)?,
                0xDD => self.interval = usize::from(be16(payload, 0).ok_or(BAD_HEADER)?),
                _ => {}
            }
        }
    }

    /// Takes the tables of a DHT segment (T.81, B.2.4.2).
    fn define_tables(&mut self, mut payload: &[u8]) -> Option<()> {
        while let Some((destination, rest)) = payload.split_first() {
            let (counts, rest) = rest.split_first_chunk::<16>()?;
            let symbols = counts.iter().map(|count| usize::from(*count)).sum();
            let (symbols, rest) = rest.split_at_checked(symbols)?;
            let class = self.tables.huffman.get_mut(usize::from(destination >> 4))?;
            let place = class.get_mut(usize::from(destination & 15))?;
            *place = Some(Table::new(counts, symbols)?);
            payload = rest;
        }
        Some(())
    }

    /// Takes from a DQT segment the quantisers of DC coefficients (T.81, B.2.4.1).
    fn define_quantisers(&mut self, mut payload: &[u8]) -> Option<()> {
        while let Some((both, rest)) = payload.split_first() {
            let size = if both >> 4 == 0 { 1 } else { 2 };
            let (table, rest) = rest.split_at_checked(64 * size)?;
            let first = if size == 1 {
                u16::from(*table.first()?)
            } else {
                be16(table, 0)?
            };
            *self.tables.dc_quantisers.get_mut(usize::from(both & 15))? = first;
            payload = rest;
        }
        Some(())
    }

    /// Passes the entropy-coded data of a scan; returns how many bytes it takes.
    fn pass_scan(&mut self, header: &[u8], data: &[u8]) -> Result<usize, Stop> {
        let frame = self.frame.as_mut().ok_or(NO_FRAME)?;
        let scan = Scan::new(header, frame).ok_or(BAD_HEADER)?;
        let mcus = scan.mcus(frame);
        let mut procedure = scan.procedure(frame, &self.tables)?;
        Ok(pass_intervals(&mut procedure, mcus, self.interval, data)?)
    }
}

/// Passes all restart intervals of a scan; returns where the marker behind the last one stands.
fn pass_intervals(
    procedure: &mut Procedure,
    mcus: usize,
    interval: usize,
    data: &[u8],
) -> Result<usize, &'static str> {
    let interval = if interval == 0 { mcus } else { interval };
    let (mut at, mut start) = (0, 0);
    let mut unstuffed = Vec::new();
    for restart in (0xD0..=0xD7).cycle() {
        at += unstuff(data.get(at..).unwrap_or_default(), &mut unstuffed).ok_or(NO_END)?;
        let mut bits = Bits::new(&unstuffed);
        let count = interval.min(mcus - start);
        procedure.pass(&mut bits, start, count)?;
        if !is_padding(bits.rest()) {
            return Err(TOO_MANY);
        }
        start += count;
        if start == mcus {
            break;
        }
        match next_marker(data, at).ok_or(NO_END)? {
            (marker, behind) if marker == restart => at = behind,
            (0xD0..=0xD7, _) => return Err(NO_RESTART),
            _ => return Err(TOO_FEW),
        }
    }
    // Some writers end the last interval with a restart marker as well; data behind it would be blocks too many.
    match next_marker(data, at) {
        Some((0xD0..=0xD7, behind)) if data.get(behind) == Some(&0xFF) => Ok(behind),
        Some((0xD0..=0xD7, _)) => Err(TOO_MANY),
        _ => Ok(at),
    }
}

/// Bytes behind the last code that lose nothing: cameras and web cameras are known to write a zero or two before the
/// marker, some encoders a whole byte of padding bits, with or without its first.
fn is_padding(rest: &[u8]) -> bool {
    rest.len() <= 2 && rest.iter().all(|byte| matches!(byte, 0 | 0x7F | 0xFF))
}

/// Takes the entropy-coded segment at the start of `data` without its stuffed zeros; returns where the marker behind
/// it, or the first fill byte of that, stands.
fn unstuff(data: &[u8], unstuffed: &mut Vec<u8>) -> Option<usize> {
    unstuffed.clear();
    let mut at = 0;
    loop {
        let rest = data.get(at..)?;
        let (plain, behind) = rest.split_at_checked(rest.iter().position(|byte| *byte == 0xFF)?)?;
        unstuffed.extend_from_slice(plain);
        at += plain.len();
        let fill = behind.iter().position(|byte| *byte != 0xFF)?;
        if behind.get(fill) != Some(&0) {
            return Some(at);
        }
        unstuffed.push(0xFF);
        at += fill + 1;
    }
}

/// The next marker from `at` on, and where the byte behind it stands. Other bytes between segments are passed over.
fn next_marker(bytes: &[u8], mut at: usize) -> Option<(u8, usize)> {
    loop {
        at += 1 + bytes.get(at..)?.iter().position(|byte| *byte == 0xFF)?;
        match *bytes.get(at)? {
            0 | 0xFF => {}
            marker => return Some((marker, at + 1)),
        }
    }
}

/// The payload of the segment whose length stands at `at`.
fn segment(bytes: &[u8], at: usize) -> Option<&[u8]> {
    let length = usize::from(be16(bytes, at)?);
    bytes.get(at + 2..at + length)
}

/// The 16-bit number at `at`.
fn be16(bytes: &[u8], at: usize) -> Option<u16> {
    let pair = bytes.get(at..)?.first_chunk::<2>()?;
    Some(u16::from_be_bytes(*pair))
}
