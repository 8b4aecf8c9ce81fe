//! Huffman codes of a JPEG and the bits they stand in (T.81, annexes C and F.2.2).

/// Longest code found by one look into the table; longer ones are rare and searched for.
const LOOK: u32 = 10;

/// Added to the coefficient's index by an end of block: beyond what any run can reach.
pub(super) const END_OF_BLOCK: u8 = 128;

/// One code, as far as stepping over it needs.
#[derive(Clone, Copy, Default)]
struct Code {
    /// Bits of the code; nought where no code is this short.
    length: u8,
    /// RRRRSSSS of a coefficient, SSSS of a DC difference.
    symbol: u8,
    /// Bits of the code and of the sequential coefficient behind it.
    total: u8,
    /// What it adds to the index of a sequential coefficient.
    step: u8,
}

impl Code {
    fn new(length: u8, symbol: u8) -> Self {
        let step = match (symbol >> 4, symbol & 15) {
            (0, 0) => END_OF_BLOCK,
            // Runs without a coefficient have no meaning in a sequential scan: out of every range.
            (1..15, 0) => u8::MAX,
            (run, _) => run + 1,
        };
        Self {
            length,
            symbol,
            total: length + (symbol & 15),
            step,
        }
    }
}

/// A Huffman table, made for looking codes up.
pub(super) struct Table {
    /// By the next bits.
    short: Box<[Code; 1 << LOOK]>,
    /// Of each length from 1 to 16 bits: the first code beyond, moved left to 16 bits.
    beyond: [u32; 16],
    /// Of each length: place of its first symbol in `symbols`, less its first code.
    offset: [i32; 16],
    symbols: Vec<u8>,
}

impl Table {
    /// From the counts of the 16 lengths and the symbols of a DHT segment; nothing where the counts are of no code.
    pub(super) fn new(counts: &[u8; 16], symbols: &[u8]) -> Option<Self> {
        let mut table = Self {
            short: Box::new([Code::default(); 1 << LOOK]),
            beyond: [0; 16],
            offset: [0; 16],
            symbols: symbols.to_vec(),
        };
        let (mut code, mut used) = (0_u32, 0_usize);
        let places = table.beyond.iter_mut().zip(&mut table.offset);
        for ((length, count), (beyond, offset)) in (1_u8..).zip(counts).zip(places) {
            *offset = i32::try_from(used).ok()? - i32::try_from(code).ok()?;
            let spare = LOOK.checked_sub(u32::from(length));
            for symbol in symbols.get(used..used + usize::from(*count))? {
                if let Some(spare) = spare {
                    let first = (code << spare) as usize;
                    // Out of range only where there are more codes than a length can have.
                    let fits = table.short.get_mut(first..first + (1 << spare))?;
                    fits.fill(Code::new(length, *symbol));
                }
                code += 1;
            }
            used += usize::from(*count);
            if code > 1 << length {
                return None;
            }
            *beyond = code << (16 - length);
            code <<= 1;
        }
        Some(table)
    }

    #[inline]
    fn find(&self, window: u64) -> Option<Code> {
        let short = self.short.get((window >> (64 - LOOK)) as usize)?;
        if short.length > 0 {
            return Some(*short);
        }
        self.find_long((window >> 48) as u32)
    }

    #[cold]
    fn find_long(&self, bits: u32) -> Option<Code> {
        let place = self.beyond.iter().position(|beyond| bits < *beyond)?;
        let code = i32::try_from(bits >> (15 - place)).ok()?;
        let index = usize::try_from(code + self.offset.get(place)?).ok()?;
        let length = u8::try_from(place + 1).ok()?;
        Some(Code::new(length, *self.symbols.get(index)?))
    }
}

/// The bits of one entropy-coded segment, its stuffed zeros taken out. Beyond the end stand zeros: whoever reads asks
/// [`Bits::is_over`] from time to time.
pub(super) struct Bits<'a> {
    data: &'a [u8],
    /// Next byte to be taken into the window.
    next: usize,
    /// Bits to come, from the top.
    window: u64,
    /// How many of them are valid.
    held: u32,
}

impl<'a> Bits<'a> {
    pub(super) fn new(data: &'a [u8]) -> Self {
        Self {
            data,
            next: 0,
            window: 0,
            held: 0,
        }
    }

    /// At least 32 bits in the window: the longest code with the longest value behind it.
    #[inline]
    fn refill(&mut self) {
        if self.held >= 32 {
            return;
        }
        let rest = self.data.get(self.next..).unwrap_or_default();
        let word = rest.first_chunk::<8>().map_or_else(
            || {
                rest.iter()
                    .rev()
                    .fold(0, |word, byte| word >> 8 | u64::from(*byte) << 56)
            },
            |chunk| u64::from_be_bytes(*chunk),
        );
        self.window |= word >> self.held;
        let bytes = (63 - self.held) / 8;
        self.next += bytes as usize;
        self.held += bytes * 8;
    }

    #[inline]
    fn drop(&mut self, bits: u8) {
        self.window <<= bits;
        self.held -= u32::from(bits);
    }

    /// The symbol of the next code, or nothing where no code begins with these bits.
    #[inline]
    pub(super) fn symbol(&mut self, table: &Table) -> Option<u8> {
        self.refill();
        let code = table.find(self.window)?;
        self.drop(code.length);
        Some(code.symbol)
    }

    /// Passes the next sequential AC code and its value: what it adds to the coefficient's index.
    #[inline]
    pub(super) fn step(&mut self, table: &Table) -> Option<u8> {
        self.refill();
        let code = table.find(self.window)?;
        self.drop(code.total);
        Some(code.step)
    }

    /// The next bits, at most 16, as a number.
    #[inline]
    pub(super) fn take(&mut self, bits: u8) -> u32 {
        let bits = bits.min(16);
        self.refill();
        let value = (self.window >> 32) as u32;
        self.drop(bits);
        value.checked_shr(32 - u32::from(bits)).unwrap_or(0)
    }

    /// The DC difference of a category up to 15 (T.81, F.2.2.1: RECEIVE and EXTEND).
    #[inline]
    pub(super) fn difference(&mut self, category: u8) -> i32 {
        let value = self.take(category) as i32;
        let span = 1 << category.min(16);
        if 2 * value < span {
            value - span + 1
        } else {
            value
        }
    }

    /// Passes any number of bits.
    #[inline]
    pub(super) fn skip(&mut self, bits: u64) {
        self.refill();
        if bits <= 32 {
            self.drop(bits as u8);
            return;
        }
        let at = (self.next as u64 * 8 - u64::from(self.held)).saturating_add(bits);
        self.next = usize::try_from(at / 8).unwrap_or(usize::MAX / 32);
        (self.window, self.held) = (0, 0);
        self.refill();
        self.drop((at % 8) as u8);
    }

    /// Bits not read yet; negative where more were read than there are.
    #[inline]
    fn left(&self) -> i64 {
        (self.data.len() as i64 - self.next as i64) * 8 + i64::from(self.held)
    }

    /// True where more was read than there is.
    #[inline]
    pub(super) fn is_over(&self) -> bool {
        self.left() < 0
    }

    /// The whole bytes not read: none in a segment that ends where its last code does.
    pub(super) fn rest(&self) -> &'a [u8] {
        let whole = usize::try_from(self.left() / 8).unwrap_or(0);
        self.data
            .get(self.data.len().saturating_sub(whole)..)
            .unwrap_or_default()
    }
}
