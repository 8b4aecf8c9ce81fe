//! One spelling of names that look the same: macOS keeps an accent as a mark of its own, others the letter with it.

use unicode_normalization::UnicodeNormalization;

/// The name with each accent and its letter as one (Unicode's form NFC). Files are read by the name that they have
/// on the disk, which may be another.
#[must_use]
pub fn composed(name: &str) -> String {
    name.nfc().collect()
}

/// Whether people cannot tell two names apart.
#[must_use]
pub fn look_alike(a: &str, b: &str) -> bool {
    as_seen(a) == as_seen(b)
}

/// The name as people see it: composed, and without the blanks round it.
#[must_use]
pub fn as_seen(name: &str) -> String {
    composed(name.trim())
}
