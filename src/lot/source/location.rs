//! A path as text, and back. On Linux a name is bytes, and old disks hold names that are no UTF-8.

use std::ffi::OsStr;
use std::fmt::Write;
use std::path::{Path, PathBuf};

/// Begins a location whose path is no UTF-8: each byte that is none, and each `%`, is written as `%` and
/// two hex digits.
const IN_BYTES: &str = "bytes=";

/// A path as it stands in a task, so that [`path_of`] leads to the same file.
#[must_use]
pub fn location_of(path: &Path) -> String {
    match path.to_str() {
        Some(text) if !text.starts_with(IN_BYTES) => text.to_owned(),
        _ => format!("{IN_BYTES}{}", escaped(path.as_os_str(), true)),
    }
}

/// The path behind a location that is no address.
#[must_use]
pub fn path_of(location: &str) -> PathBuf {
    match location.strip_prefix(IN_BYTES) {
        Some(text) => of_bytes(unescaped(text)),
        None => location.into(),
    }
}

/// A name that people and tables can be shown; names that differ stay different.
#[must_use]
pub fn legible(name: &OsStr) -> String {
    match name.to_str() {
        Some(text) => text.to_owned(),
        None => escaped(name, false),
    }
}

/// The part of a location that people can be shown.
pub(super) fn shown(location: &str) -> &str {
    location.strip_prefix(IN_BYTES).unwrap_or(location)
}

fn escaped(name: &OsStr, to_be_read_back: bool) -> String {
    let mut text = String::new();
    for chunk in name.as_encoded_bytes().utf8_chunks() {
        for letter in chunk.valid().chars() {
            match letter {
                '%' if to_be_read_back => text.push_str("%25"),
                letter => text.push(letter),
            }
        }
        for byte in chunk.invalid() {
            let _ = write!(text, "%{byte:02X}");
        }
    }
    text
}

fn unescaped(text: &str) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut rest = text.as_bytes();
    while let Some((first, after)) = rest.split_first() {
        let digits = after.get(..2).and_then(|two| std::str::from_utf8(two).ok());
        match digits.and_then(|two| u8::from_str_radix(two, 16).ok()) {
            Some(byte) if *first == b'%' => {
                bytes.push(byte);
                rest = &after[2..];
            }
            _ => {
                bytes.push(*first);
                rest = after;
            }
        }
    }
    bytes
}

#[cfg(unix)]
fn of_bytes(bytes: Vec<u8>) -> PathBuf {
    use std::os::unix::ffi::OsStringExt;
    std::ffi::OsString::from_vec(bytes).into()
}

/// Elsewhere such a path leads to no file, and the file gets a row that says so.
#[cfg(not(unix))]
fn of_bytes(bytes: Vec<u8>) -> PathBuf {
    String::from_utf8_lossy(&bytes).into_owned().into()
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;
    use std::os::unix::ffi::OsStrExt;

    #[test]
    fn a_path_and_back_and_a_name_to_be_read() {
        for (bytes, location, name) in [
            (
                &b"box/caf\xE9 50%.jpg"[..],
                "bytes=box/caf%E9 50%25.jpg",
                "box/caf%E9 50%.jpg",
            ),
            (
                b"box/caf\xC3\xA9 50%.jpg",
                "box/café 50%.jpg",
                "box/café 50%.jpg",
            ),
            (b"\xC3\xA9\xFF%41", "bytes=é%FF%2541", "é%FF%41"),
            (
                b"bytes=a%20.jpg",
                "bytes=bytes=a%2520.jpg",
                "bytes=a%20.jpg",
            ),
        ] {
            let path = Path::new(OsStr::from_bytes(bytes));
            assert_eq!(location_of(path), location);
            assert_eq!(path_of(location), path);
            assert_eq!(legible(path.as_os_str()), name);
        }
        // What nobody wrote is taken as it stands.
        assert_eq!(path_of("bytes=a%4%zz%"), Path::new("a%4%zz%"));
    }
}
