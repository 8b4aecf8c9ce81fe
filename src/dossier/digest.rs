//! What pins down a run of bytes: SHA-256, length, and three sums that find a changed byte.
//!
//! SHA-256 tells that bytes changed and never where. The sums Σbᵢ, Σi·bᵢ and Σi²·bᵢ (positions i
//! counted from 1, modulo 2³¹ − 1) give the place and the former value of a single changed byte, as
//! the syndromes of a Reed–Solomon code do. They protect nothing: what they find is only said once
//! putting the byte back gives the recorded SHA-256 again.

use crate::photo::sha256_hex;
use crate::report::words::counted;
use serde::{Deserialize, Serialize};

/// The Mersenne prime 2³¹ − 1: above any position in a file under 2 GB, and small enough for JSON.
const PRIME: u64 = 2_147_483_647;

/// What pins down some bytes.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Digest {
    /// SHA-256, lower-case hex.
    pub sha256: String,
    /// Number of bytes.
    pub bytes: u64,
    /// Σbᵢ, Σi·bᵢ, Σi²·bᵢ modulo 2³¹ − 1, i from 1.
    pub sums: [u64; 3],
}

/// How bytes differ from those that a digest was taken of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Damage {
    /// Their number differs.
    Length {
        /// Bytes recorded.
        recorded: u64,
        /// Bytes found.
        found: u64,
    },
    /// One byte differs; put back, the recorded SHA-256 comes out again.
    OneByte {
        /// Its place, counted from 0.
        offset: u64,
        /// Its value now.
        is: u8,
        /// Its value when the digest was taken.
        was: u8,
    },
    /// Several bytes differ.
    Several,
}

impl Digest {
    /// The digest of some bytes.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Self {
        Self {
            sha256: sha256_hex(bytes),
            bytes: bytes.len() as u64,
            sums: sums(bytes),
        }
    }

    /// Whether the bytes are those that the digest was taken of.
    #[must_use]
    pub fn fits(&self, bytes: &[u8]) -> bool {
        self.bytes == bytes.len() as u64 && self.sha256 == sha256_hex(bytes)
    }

    /// How the bytes differ; `None` where they do not.
    #[must_use]
    pub fn damage(&self, bytes: &[u8]) -> Option<Damage> {
        if self.fits(bytes) {
            return None;
        }
        let found = bytes.len() as u64;
        Some(if found == self.bytes {
            self.one_byte(bytes).unwrap_or(Damage::Several)
        } else {
            Damage::Length {
                recorded: self.bytes,
                found,
            }
        })
    }

    /// The single byte that differs, if there is just one.
    fn one_byte(&self, bytes: &[u8]) -> Option<Damage> {
        let now = sums(bytes);
        let differs = |k: usize| (now[k] + PRIME - self.sums[k] % PRIME) % PRIME;
        let place = differs(1) * inverse(differs(0))? % PRIME;
        let offset = usize::try_from(place.checked_sub(1)?).ok()?;
        let is = *bytes.get(offset)?;
        let step = differs(0);
        let was = (i64::from(is) + PRIME as i64 - step as i64) % PRIME as i64;
        let was = u8::try_from(was).ok()?;
        let mut restored = bytes.to_vec();
        *restored.get_mut(offset)? = was;
        self.fits(&restored).then_some(Damage::OneByte {
            offset: offset as u64,
            is,
            was,
        })
    }
}

impl Damage {
    /// The difference in words, as the end of a sentence about the bytes; `from` is added to places.
    #[must_use]
    pub fn in_words(&self, from: u64) -> String {
        match self {
            Self::Length { recorded, found } if found < recorded => {
                let less = counted((recorded - found) as usize, "byte");
                format!("it is {less} shorter than recorded ({found} of {recorded})")
            }
            Self::Length { recorded, found } => {
                let more = counted((found - recorded) as usize, "byte");
                format!("it is {more} longer than recorded ({found}, not {recorded})")
            }
            Self::OneByte { offset, is, was } => format!(
                "byte {} (counted from 0) is {is:#04x} and was {was:#04x}; with that byte put back everything fits again",
                offset + from
            ),
            Self::Several => "more than one byte differs".into(),
        }
    }
}

/// Whether a text has the form of a SHA-256: 64 lower-case hex digits.
#[must_use]
pub fn is_sha256(text: &str) -> bool {
    text.len() == 64 && text.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'))
}

fn sums(bytes: &[u8]) -> [u64; 3] {
    let mut sums = [0u64; 3];
    for (i, &byte) in (1u64..).zip(bytes) {
        let first = i % PRIME * u64::from(byte) % PRIME;
        sums[0] = (sums[0] + u64::from(byte)) % PRIME;
        sums[1] = (sums[1] + first) % PRIME;
        sums[2] = (sums[2] + i % PRIME * first) % PRIME;
    }
    sums
}

/// The inverse modulo [`PRIME`] by Fermat's theorem; none for 0.
fn inverse(value: u64) -> Option<u64> {
    if value.is_multiple_of(PRIME) {
        return None;
    }
    let (mut result, mut base, mut power) = (1, value % PRIME, PRIME - 2);
    while power > 0 {
        if power & 1 == 1 {
            result = result * base % PRIME;
        }
        base = base * base % PRIME;
        power >>= 1;
    }
    Some(result)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bytes() -> Vec<u8> {
        (0..5_003u32).map(|i| (i * i / 7 % 251) as u8).collect()
    }

    #[test]
    fn the_form_of_a_hash_is_known() {
        assert!(is_sha256(&sha256_hex(b"")));
        for other in ["BA78", &"A".repeat(64), &"0".repeat(63)] {
            assert!(!is_sha256(other), "{other}");
        }
    }

    #[test]
    fn a_changed_byte_is_found_wherever_it_is() {
        let digest = Digest::of(&bytes());
        assert_eq!(digest.damage(&bytes()), None);
        for offset in (0..5_003).step_by(97).chain([5_002]) {
            for flip in [1u8, 0x80, 0xff] {
                let mut changed = bytes();
                changed[offset] ^= flip;
                let found = digest.damage(&changed);
                let expected = Damage::OneByte {
                    offset: offset as u64,
                    is: changed[offset],
                    was: changed[offset] ^ flip,
                };
                assert_eq!(found, Some(expected));
            }
        }
    }

    #[test]
    fn several_changes_and_other_lengths_are_told_apart() {
        let digest = Digest::of(&bytes());
        let mut two = bytes();
        two.swap(1, 700);
        assert_eq!(digest.damage(&two), Some(Damage::Several));
        let short = &bytes()[..4_000];
        assert_eq!(
            digest.damage(short).unwrap().in_words(0),
            "it is 1003 bytes shorter than recorded (4000 of 5003)"
        );
        assert!(Digest::of(b"").damage(b"x").is_some());
    }
}
