//! JSON with numbers rounded to the digits that carry meaning.

use serde::Serialize;
use serde_json::ser::{Formatter, PrettyFormatter};
use std::io::{self, Write};

/// Significant digits kept. The best measurement here is good to about 1 in 1,000, so six
/// digits lose nothing and keep rounding noise out of stored files.
const SIGNIFICANT_DIGITS: usize = 6;

/// Writes a value as indented JSON with rounded numbers and a line feed at the end.
///
/// # Errors
/// As [`serde_json::to_string`].
pub fn to_string(value: &impl Serialize) -> serde_json::Result<String> {
    let mut bytes = Vec::new();
    let formatter = Rounded(PrettyFormatter::new());
    value.serialize(&mut serde_json::Serializer::with_formatter(
        &mut bytes, formatter,
    ))?;
    bytes.push(b'\n');
    String::from_utf8(bytes).map_err(serde::ser::Error::custom)
}

/// Rounds to six significant digits, as stored files have them; numbers that are not finite are passed on as they are.
#[must_use]
pub fn round(value: f64) -> f64 {
    let digits = SIGNIFICANT_DIGITS - 1;
    format!("{value:.digits$e}").parse().unwrap_or(value)
}

struct Rounded<'a>(PrettyFormatter<'a>);

impl Formatter for Rounded<'_> {
    fn write_f64<W: ?Sized + Write>(&mut self, w: &mut W, value: f64) -> io::Result<()> {
        self.0.write_f64(w, round(value))
    }

    fn write_f32<W: ?Sized + Write>(&mut self, w: &mut W, value: f32) -> io::Result<()> {
        self.0.write_f64(w, round(f64::from(value)))
    }

    fn begin_array<W: ?Sized + Write>(&mut self, w: &mut W) -> io::Result<()> {
        self.0.begin_array(w)
    }

    fn end_array<W: ?Sized + Write>(&mut self, w: &mut W) -> io::Result<()> {
        self.0.end_array(w)
    }

    fn begin_array_value<W: ?Sized + Write>(&mut self, w: &mut W, first: bool) -> io::Result<()> {
        self.0.begin_array_value(w, first)
    }

    fn end_array_value<W: ?Sized + Write>(&mut self, w: &mut W) -> io::Result<()> {
        self.0.end_array_value(w)
    }

    fn begin_object<W: ?Sized + Write>(&mut self, w: &mut W) -> io::Result<()> {
        self.0.begin_object(w)
    }

    fn end_object<W: ?Sized + Write>(&mut self, w: &mut W) -> io::Result<()> {
        self.0.end_object(w)
    }

    fn begin_object_key<W: ?Sized + Write>(&mut self, w: &mut W, first: bool) -> io::Result<()> {
        self.0.begin_object_key(w, first)
    }

    fn begin_object_value<W: ?Sized + Write>(&mut self, w: &mut W) -> io::Result<()> {
        self.0.begin_object_value(w)
    }

    fn end_object_value<W: ?Sized + Write>(&mut self, w: &mut W) -> io::Result<()> {
        self.0.end_object_value(w)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn six_digits_are_kept_at_any_size() {
        let written = to_string(&[1234.56789, -0.000_123_456_78, 0.0, 3e9]).unwrap();
        assert_eq!(
            written,
            "[\n  1234.57,\n  -0.000123457,\n  0.0,\n  3000000000.0\n]\n"
        );
    }

    #[test]
    fn a_number_that_is_none_is_null_and_not_text() {
        assert_eq!(to_string(&[f64::NAN]).unwrap(), "[\n  null\n]\n");
    }
}
