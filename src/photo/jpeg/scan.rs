//! Scan headers of a JPEG: which coefficients of which blocks a scan must hold (T.81, annexes B.2.3 and G.1.1).

use super::Stop;
use super::blocks::{Band, Dc, Procedure};
use super::frame::{Component, Frame, NOT_CODED, SCAN_MISSING};
use super::huffman::Table;

const BAD_SCAN: &str = "one of its scan headers is damaged";

/// The tables defined so far.
#[derive(Default)]
pub(super) struct Tables {
    /// By class (DC, AC) and destination.
    pub(super) huffman: [[Option<Table>; 4]; 2],
    /// Quantiser of the DC coefficient by destination; nought where none is defined.
    pub(super) dc_quantisers: [u16; 4],
}

/// A component of a scan: its place in the frame and the destinations of its tables.
struct Selector {
    place: usize,
    dc: usize,
    ac: usize,
}

/// What a scan header says.
pub(super) struct Scan {
    selectors: Vec<Selector>,
    /// First and last coefficient, Ss and Se.
    first: u8,
    last: u8,
    /// Point transforms of the scan before and of this one, Ah and Al.
    high: u8,
    low: u8,
}

impl Scan {
    /// From the payload of SOS; nothing where it does not fit the frame.
    pub(super) fn new(payload: &[u8], frame: &Frame) -> Option<Self> {
        let (count, rest) = payload.split_first()?;
        let (pairs, rest) = rest.split_at_checked(2 * usize::from(*count))?;
        let [first, last, transform] = *rest.first_chunk::<3>()?;
        let mut selectors: Vec<Selector> = Vec::new();
        for [id, tables] in pairs.as_chunks::<2>().0 {
            // Some writers give all components one number: each stands for the next one of it.
            let is_next = |(place, component): &(usize, &Component)| {
                component.id == *id && selectors.iter().all(|selector| selector.place != *place)
            };
            let (place, _) = frame.components.iter().enumerate().find(is_next)?;
            selectors.push(Selector {
                place,
                dc: usize::from(tables >> 4),
                ac: usize::from(tables & 15),
            });
        }
        (!selectors.is_empty()).then_some(Self {
            selectors,
            first,
            last,
            high: transform >> 4,
            low: transform & 15,
        })
    }

    /// MCUs in this scan; a component by itself has no blocks beyond its own edge.
    pub(super) fn mcus(&self, frame: &Frame) -> usize {
        match self.selectors.as_slice() {
            [only] => frame
                .components
                .get(only.place)
                .map_or(0, |component| component.blocks),
            _ => frame.mcus,
        }
    }

    /// How the blocks of this scan are to be read; notes in the frame what it codes.
    pub(super) fn procedure<'a>(
        &self,
        frame: &'a mut Frame,
        tables: &'a Tables,
    ) -> Result<Procedure<'a>, Stop> {
        self.note(frame)?;
        if frame.is_progressive && self.first > 0 {
            return self.ac_procedure(frame, tables);
        }
        if frame.is_progressive && self.high > 0 {
            return Ok(Procedure::DcRefine(self.coders(frame, |_| Ok(()))?.len()));
        }
        let dc = |selector: &Selector| self.dc(frame, selector, tables);
        if frame.is_progressive {
            return Ok(Procedure::DcFirst(self.coders(frame, dc)?));
        }
        let both =
            |selector: &Selector| Ok((dc(selector)?, table(&tables.huffman, 1, selector.ac)?));
        Ok(Procedure::Sequential(self.coders(frame, both)?))
    }

    /// What is needed for each block of an MCU of this scan.
    fn coders<T: Clone>(
        &self,
        frame: &Frame,
        of: impl Fn(&Selector) -> Result<T, Stop>,
    ) -> Result<Vec<T>, Stop> {
        let mut coders = Vec::new();
        for selector in &self.selectors {
            let blocks = match frame.components.get(selector.place) {
                Some(component) if self.selectors.len() > 1 => component.blocks_in_mcu,
                _ => 1,
            };
            coders.extend(std::iter::repeat_n(of(selector)?, blocks));
        }
        Ok(coders)
    }

    fn dc<'a>(
        &self,
        frame: &Frame,
        selector: &Selector,
        tables: &'a Tables,
    ) -> Result<Dc<'a>, Stop> {
        let component = frame.components.get(selector.place).ok_or(BAD_SCAN)?;
        let quantiser = i32::from(
            *tables
                .dc_quantisers
                .get(component.quantiser)
                .ok_or(BAD_SCAN)?,
        );
        // Eight times the mean of a block less the middle of the range: at most four times the range, and a step for
        // rounding. A sixteenth more is left to lossless editing; codes that are misread soon go far beyond.
        let farthest = (1 << frame.precision) * 17 / 4;
        let shift = if frame.is_progressive { self.low } else { 0 };
        Ok(Dc {
            table: table(&tables.huffman, 0, selector.dc)?,
            largest: if frame.precision == 8 { 11 } else { 15 },
            limit: ((farthest / quantiser.max(1)) >> shift) + 1,
            component: selector.place,
        })
    }

    fn ac_procedure<'a>(
        &self,
        frame: &'a mut Frame,
        tables: &'a Tables,
    ) -> Result<Procedure<'a>, Stop> {
        let [only] = self.selectors.as_slice() else {
            return Err(BAD_SCAN.into());
        };
        let component = frame.components.get_mut(only.place).ok_or(BAD_SCAN)?;
        component.known.resize(component.blocks, 0);
        let band = Band {
            table: table(&tables.huffman, 1, only.ac)?,
            first: u32::from(self.first),
            last: u32::from(self.last),
        };
        Ok(if self.high == 0 {
            Procedure::AcFirst(band, &mut component.known)
        } else {
            Procedure::AcRefine(band, &mut component.known)
        })
    }

    /// Notes which bits of which coefficients this scan codes. Each must be coded once and in order: a scan that does
    /// not fit tells of one that is lost, and a picture cannot ask for endless work.
    fn note(&self, frame: &mut Frame) -> Result<(), &'static str> {
        // What a sequential scan header says of coefficients has no meaning, and some writers put anything.
        let (first, last, high, low) = if frame.is_progressive {
            (self.first, self.last, self.high, self.low)
        } else {
            (0, 63, 0, 0)
        };
        if frame.is_progressive && ((first == 0) != (last == 0) || low > 13) {
            return Err(BAD_SCAN);
        }
        let before = match high {
            0 => NOT_CODED,
            _ if low + 1 == high => high,
            _ => return Err(SCAN_MISSING),
        };
        for selector in &self.selectors {
            let component = frame.components.get_mut(selector.place).ok_or(BAD_SCAN)?;
            let band = component
                .low_bits
                .get_mut(usize::from(first)..=usize::from(last));
            for bits in band.ok_or(BAD_SCAN)? {
                if std::mem::replace(bits, low) != before {
                    return Err(SCAN_MISSING);
                }
            }
        }
        Ok(())
    }
}

/// A table that is defined: only the frames of a film leave tables out, and the decoder refuses other pictures
/// without.
fn table(
    tables: &[[Option<Table>; 4]; 2],
    class: usize,
    destination: usize,
) -> Result<&Table, Stop> {
    let class = tables.get(class).ok_or(BAD_SCAN)?;
    class
        .get(destination)
        .ok_or(BAD_SCAN)?
        .as_ref()
        .ok_or(Stop::Unjudged)
}
