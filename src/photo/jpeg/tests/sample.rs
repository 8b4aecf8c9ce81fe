//! A tiny baseline encoder of pictures without meaning.

/// Numbers without a pattern (a linear congruence).
pub(super) struct Chance(pub(super) u64);

impl Chance {
    pub(super) fn below(&mut self, limit: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % limit
    }
}

/// Writes codes of equal length: 3 bits for the DC categories, 4 for the AC symbols.
#[derive(Default)]
struct Writer {
    bytes: Vec<u8>,
    bits: u32,
    count: u32,
}

impl Writer {
    fn put(&mut self, value: u32, length: u32) {
        for place in (0..length).rev() {
            self.bits = self.bits << 1 | value >> place & 1;
            self.count += 1;
            if self.count == 8 {
                self.bytes.push(self.bits as u8);
                if self.bits == 0xFF {
                    self.bytes.push(0);
                }
                (self.bits, self.count) = (0, 0);
            }
        }
    }

    /// A block of little contrast, as brightness `before` plus nought, one or less one.
    fn block(&mut self, before: &mut i32, chance: &mut Chance) {
        match (chance.below(3), *before) {
            (0, -20..) => (self.put(0b0010, 4), *before -= 1).1,
            (1, ..=20) => (self.put(0b0011, 4), *before += 1).1,
            _ => self.put(0b000, 3),
        }
        let mut next = 1;
        while next < 64 {
            // Symbols in the order of `AC`.
            let symbol = chance.below(6);
            let run = [0, 0, 0, 1, 2, 15][symbol];
            if symbol == 0 || next + run > 62 {
                return self.put(0, 4);
            }
            self.put(symbol as u32, 4);
            let size = [0, 1, 2, 1, 3, 0][symbol];
            self.put(chance.below(1 << size) as u32, size);
            next += run + 1;
        }
    }

    fn finish(&mut self, padding: u32) {
        while self.count > 0 {
            self.put(padding, 1);
        }
    }
}

/// Symbols of the AC table: end of block, runs of 0, 0, 1 and 2 noughts, sixteen noughts.
const AC: [u8; 6] = [0x00, 0x01, 0x02, 0x11, 0x23, 0xF0];

/// A picture of the tiny encoder.
#[derive(Clone)]
pub(super) struct Sample {
    pub(super) width: u16,
    pub(super) height: u16,
    /// Sampling of each component.
    pub(super) sampling: Vec<(u8, u8)>,
    pub(super) interval: u16,
    pub(super) separate: bool,
    pub(super) padding: u32,
}

impl Sample {
    pub(super) fn new(sampling: &[(u8, u8)], interval: u16) -> Self {
        Self {
            width: 53,
            height: 37,
            sampling: sampling.to_vec(),
            interval,
            separate: false,
            padding: 1,
        }
    }

    pub(super) fn encode(&self) -> Vec<u8> {
        let mut file = vec![0xFF, 0xD8];
        let mut quantisers = vec![0];
        quantisers.extend([16; 64]);
        segment(&mut file, 0xDB, &quantisers);
        let mut frame = vec![8];
        frame.extend(self.height.to_be_bytes());
        frame.extend(self.width.to_be_bytes());
        frame.push(self.sampling.len() as u8);
        for (id, (h, v)) in self.sampling.iter().enumerate() {
            frame.extend([id as u8, h << 4 | v, 0]);
        }
        segment(&mut file, 0xC0, &frame);
        let mut tables = vec![
            0x00, 0, 0, 3, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 12,
        ];
        tables.extend([0x10, 0, 0, 0, 6, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0]);
        tables.extend(AC);
        segment(&mut file, 0xC4, &tables);
        segment(&mut file, 0xDD, &self.interval.to_be_bytes());
        let all: Vec<usize> = (0..self.sampling.len()).collect();
        let scans: Vec<&[usize]> = if self.separate {
            all.chunks(1).collect()
        } else {
            vec![&all]
        };
        for components in scans {
            self.scan(&mut file, components);
        }
        file.extend([0xFF, 0xD9]);
        file
    }

    fn scan(&self, file: &mut Vec<u8>, components: &[usize]) {
        let mut header = vec![components.len() as u8];
        header.extend(components.iter().flat_map(|id| [*id as u8, 0]));
        header.extend([0, 63, 0]);
        segment(file, 0xDA, &header);
        let largest_h = usize::from(
            self.sampling
                .iter()
                .map(|s| s.0)
                .max()
                .expect("a component"),
        );
        let largest_v = usize::from(
            self.sampling
                .iter()
                .map(|s| s.1)
                .max()
                .expect("a component"),
        );
        let (mut across, mut down) = (8 * largest_h, 8 * largest_v);
        let mut blocks: Vec<usize> = Vec::new();
        if let [only] = components {
            let (h, v) = self.sampling[*only];
            (across, down) = (across / usize::from(h), down / usize::from(v));
            blocks.push(*only);
        } else {
            for id in components {
                let (h, v) = self.sampling[*id];
                blocks.extend(std::iter::repeat_n(*id, usize::from(h * v)));
            }
        }
        let mcus =
            usize::from(self.width).div_ceil(across) * usize::from(self.height).div_ceil(down);
        let (mut chance, mut writer, mut before) = (Chance(7), Writer::default(), [0; 4]);
        for mcu in 0..mcus {
            if self.interval > 0 && mcu > 0 && mcu % usize::from(self.interval) == 0 {
                writer.finish(self.padding);
                let number = (mcu / usize::from(self.interval) - 1) % 8;
                writer.bytes.extend([0xFF, 0xD0 + number as u8]);
                before = [0; 4];
            }
            for id in &blocks {
                writer.block(&mut before[*id], &mut chance);
            }
        }
        writer.finish(self.padding);
        file.extend(writer.bytes);
    }
}

fn segment(file: &mut Vec<u8>, marker: u8, payload: &[u8]) {
    file.extend([0xFF, marker]);
    file.extend((payload.len() as u16 + 2).to_be_bytes());
    file.extend(payload);
}
