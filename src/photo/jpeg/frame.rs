//! The frame header of a JPEG: how many blocks each component has (T.81, annexes A.2 and B.2.2).

use super::be16;

/// Why a picture cannot be trusted whose scans do not code every bit.
pub(super) const SCAN_MISSING: &str = "a scan of its picture data is missing";

/// Mark of a coefficient that no scan has coded yet.
pub(super) const NOT_CODED: u8 = u8::MAX;

/// A component of the picture.
pub(super) struct Component {
    /// What scan headers call it.
    pub(super) id: u8,
    /// Destination of its quantisation table.
    pub(super) quantiser: usize,
    /// Blocks of it in an MCU of several components.
    pub(super) blocks_in_mcu: usize,
    /// Blocks of it in a scan of its own.
    pub(super) blocks: usize,
    /// Of each coefficient: how many low bits are still to come, Al.
    pub(super) low_bits: [u8; 64],
    /// Of each block: coefficients known to be other than nought; only kept for progressive pictures.
    pub(super) known: Vec<u64>,
}

/// What the frame header promises.
pub(super) struct Frame {
    /// SOF2.
    pub(super) is_progressive: bool,
    /// Bits of a sample, 8 or 12.
    pub(super) precision: u8,
    /// MCUs in a scan of several components.
    pub(super) mcus: usize,
    /// In their order in the header, at most four.
    pub(super) components: Vec<Component>,
}

impl Frame {
    /// From the payload of SOF0, SOF1 or SOF2; nothing where it is of no kind that is judged.
    pub(super) fn new(payload: &[u8], is_progressive: bool) -> Option<Self> {
        let precision = *payload.first()?;
        let (height, width) = (be16(payload, 1)?, be16(payload, 3)?);
        let count = usize::from(*payload.get(5)?);
        let (specifications, _) = payload.get(6..6 + 3 * count)?.as_chunks::<3>();
        let sampling = |[_, both, _]: &[u8; 3]| (usize::from(both >> 4), usize::from(both & 15));
        let sides = || specifications.iter().map(sampling);
        let allowed = 1..=4;
        if !matches!(precision, 8 | 12) || height == 0 || width == 0 || !allowed.contains(&count) {
            return None;
        }
        if !sides().all(|(h, v)| allowed.contains(&h) && allowed.contains(&v)) {
            return None;
        }
        let largest_h = sides().map(|(h, _)| h).max()?;
        let largest_v = sides().map(|(_, v)| v).max()?;
        let (width, height) = (usize::from(width), usize::from(height));
        let component = |specification: &[u8; 3]| {
            let (h, v) = sampling(specification);
            let across = (width * h).div_ceil(largest_h).div_ceil(8);
            let down = (height * v).div_ceil(largest_v).div_ceil(8);
            Component {
                id: specification[0],
                quantiser: usize::from(specification[2]),
                blocks_in_mcu: h * v,
                blocks: across * down,
                low_bits: [NOT_CODED; 64],
                known: Vec::new(),
            }
        };
        Some(Self {
            is_progressive,
            precision,
            mcus: width.div_ceil(8 * largest_h) * height.div_ceil(8 * largest_v),
            components: specifications.iter().map(component).collect(),
        })
    }

    /// Checks at the end of the picture that nothing begun is left out: of every component the DC coefficients to
    /// the last bit, of its AC coefficients those that a scan has begun.
    pub(super) fn complete(&self) -> Result<(), &'static str> {
        let is_whole = |component: &Component| {
            component.low_bits.first() == Some(&0)
                && component
                    .low_bits
                    .iter()
                    .all(|low| matches!(*low, 0 | NOT_CODED))
        };
        if self.components.iter().all(is_whole) {
            Ok(())
        } else {
            Err(SCAN_MISSING)
        }
    }
}
