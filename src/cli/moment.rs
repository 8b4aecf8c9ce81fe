//! The time stamp of a report: the clock, or a moment given for reproducible files.

use jiff::Timestamp;

/// Reads a moment such as `2026-01-02T10:00:00Z`.
pub fn parse(text: &str) -> Result<Timestamp, String> {
    text.parse()
        .map_err(|_| "must be a moment such as 2026-01-02T10:00:00Z".into())
}

/// The moment given, or now, as it is printed in a report.
pub fn in_words(given: Option<Timestamp>) -> String {
    let moment = given.unwrap_or_else(Timestamp::now);
    moment.strftime("%-d %B %Y, %H:%M UTC").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_given_moment_is_printed_the_same_everywhere() {
        let moment = parse("2026-01-02T12:30:00+02:30").unwrap();
        assert_eq!(in_words(Some(moment)), "2 January 2026, 10:00 UTC");
        assert!(parse("yesterday").is_err());
    }
}
