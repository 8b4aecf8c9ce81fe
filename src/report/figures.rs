//! Numbers as a cataloguer would write them: with a unit, an interval, and no more digits than
//! the interval supports.

use crate::measure::film::CELLS;
use crate::measured::{Figure, Measured};
use crate::weigh::doubt::{SURE_ENOUGH, per_cent_short_of_sure};
use crate::weigh::features::{CHANCE_AS_LOG10, YES_OR_NO};

/// Digits after the point at most; smaller differences are not seen on paper.
const MOST_DECIMALS: i32 = 6;

/// Decimals worth writing when the 95 % interval is `width` wide: two digits of the width.
fn decimals(value: f64, width: f64) -> usize {
    let size = if width > 0.0 {
        width
    } else if value == 0.0 {
        return 0;
    } else {
        // No interval: three significant digits of the value.
        value.abs() / 10.0
    };
    (1 - size.log10().floor() as i32).clamp(0, MOST_DECIMALS) as usize
}

/// A number with a given number of decimals, a true minus sign and narrow gaps between thousands.
#[must_use]
pub fn number(value: f64, decimals: usize) -> String {
    let plain = format!("{:.decimals$}", value.abs());
    let (whole, fraction) = plain.split_once('.').unwrap_or((&plain, ""));
    let is_zero = plain.chars().all(|c| c == '0' || c == '.');
    let mut text = String::new();
    if value < 0.0 && !is_zero {
        text.push('−');
    }
    for (i, digit) in whole.chars().enumerate() {
        // Four-digit numbers stay whole, as in a catalogue's measurements.
        if i > 0 && whole.len() > 4 && (whole.len() - i).is_multiple_of(3) {
            text.push('\u{202f}');
        }
        text.push(digit);
    }
    if !fraction.is_empty() {
        text.push('.');
        text.push_str(fraction);
    }
    text
}

/// A number to three significant digits, where no interval is known.
#[must_use]
pub fn plain(value: f64) -> String {
    let text = number(value, decimals(value, 0.0));
    if text.contains('.') {
        return text.trim_end_matches('0').trim_end_matches('.').to_owned();
    }
    text
}

/// A range, both ends with the same number of decimals: "1.38–1.46".
fn range(lo: f64, hi: f64) -> String {
    range_to(lo, hi, decimals(lo.abs().max(hi.abs()), (hi - lo).abs()))
}

fn range_to(lo: f64, hi: f64, digits: usize) -> String {
    let [from, to] = [lo, hi].map(|end| number(end, digits));
    if from == to {
        from
    } else if lo < 0.0 || hi < 0.0 {
        format!("{from} to {to}")
    } else {
        format!("{from}–{to}")
    }
}

/// A unit as it follows a number: nothing for a pure number, no space before a degree sign.
fn unit_after(unit: &str) -> String {
    match unit {
        "1" | "" => String::new(),
        "°" => "°".into(),
        other => format!("\u{a0}{other}"),
    }
}

/// What turns a logarithm into the factor that it stands for; none for other units.
fn factor_of(unit: &str) -> Option<fn(f64) -> f64> {
    match unit {
        "log10" => Some(|x| 10f64.powf(x)),
        "ln" | "ln D" => Some(f64::exp),
        _ => None,
    }
}

/// Unit of lengths in cells of the ground, of which so many lie along the frame (see `measure::film::ground`).
const CELLS_IN_PER_CENT: f64 = 100.0 / 160.0;

/// A value and its unit as a reader knows them: cells of the ground as a share of the frame.
fn as_known(unit: &str) -> (f64, &str) {
    match unit {
        CELLS => (CELLS_IN_PER_CENT, "% of the frame"),
        other => (1.0, other),
    }
}

/// A value without interval or unit, as on an axis: of a logarithm the factor it stands for.
#[must_use]
pub fn on_axis(value: f64, unit: &str) -> String {
    if unit == YES_OR_NO {
        return value_with_interval(value, None, unit);
    }
    match factor_of(unit) {
        _ if unit == CHANCE_AS_LOG10 => as_power_of_ten(value),
        Some(factor) => format!("×{}", plain(factor(value))),
        None => plain(value * as_known(unit).0),
    }
}

/// A range with its unit; of logarithms the factors they stand for: "×1.2–1.4".
#[must_use]
pub fn range_with_unit(lo: f64, hi: f64, unit: &str) -> String {
    if unit == YES_OR_NO {
        let [lo, hi] = [lo, hi].map(|v| value_with_interval(v, None, unit));
        return if lo == hi {
            lo
        } else {
            format!("{lo} or {hi}")
        };
    }
    if let Some(unit) = counted(unit, hi) {
        return format!("{}\u{a0}{unit}", range_to(lo, hi, 0));
    }
    if unit == CHANCE_AS_LOG10 {
        let [lo, hi] = [lo, hi].map(one_in);
        return if lo == hi {
            lo
        } else {
            format!("{lo} to {hi}")
        };
    }
    let (times, known) = as_known(unit);
    match factor_of(unit) {
        Some(factor) => format!("×{}", range(factor(lo), factor(hi))),
        None => format!("{}{}", range(times * lo, times * hi), unit_after(known)),
    }
}

/// A value with its interval and unit: "1.42 (1.38–1.46)", "63 µm (58–69)"; of a logarithm the factor
/// it stands for: "×1.3 (1.2–1.4)".
#[must_use]
pub fn value_with_interval(value: f64, interval: Option<[f64; 2]>, unit: &str) -> String {
    if unit == YES_OR_NO {
        return if value >= 0.5 { "yes" } else { "no" }.into();
    }
    if unit == CHANCE_AS_LOG10 {
        return one_in(value);
    }
    if let Some(unit) = counted(unit, value) {
        return match interval {
            Some([lo, hi]) if hi > lo => {
                format!("{}\u{a0}{unit} ({})", number(value, 0), range_to(lo, hi, 0))
            }
            _ => format!("{}\u{a0}{unit}", number(value, 0)),
        };
    }
    if let Some(factor) = factor_of(unit) {
        let interval = interval.map(|ends| ends.map(factor));
        return format!("×{}", value_with_interval(factor(value), interval, "1"));
    }
    let (times, known) = as_known(unit);
    let (value, interval) = (
        times * value,
        interval.map(|ends| ends.map(|end| times * end)),
    );
    let unit = unit_after(known);
    match interval {
        Some([lo, hi]) if hi > lo => {
            let digits = decimals(value, hi - lo);
            format!("{}{unit} ({})", number(value, digits), range(lo, hi))
        }
        _ => format!("{}{unit}", plain(value)),
    }
}

/// A small chance on an axis: "10⁻¹²", "1".
fn as_power_of_ten(log10: f64) -> String {
    const RAISED: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    let whole = -log10.round();
    if whole <= 0.0 {
        return "1".into();
    }
    let digits = number(whole, 0);
    let raised = digits.chars().filter_map(|c| c.to_digit(10));
    format!(
        "10⁻{}",
        raised.map(|d| RAISED[d as usize]).collect::<String>()
    )
}

/// Units of what is counted, several and one.
const COUNTS: [[&str; 2]; 2] = [["inks", "ink"], ["places", "place"]];

/// Such a unit as it follows a number; none for what is not counted, which may have decimals.
fn counted(unit: &str, number: f64) -> Option<&'static str> {
    let [several, one] = *COUNTS.iter().find(|[several, _]| *several == unit)?;
    Some(if number.round() == 1.0 { one } else { several })
}

/// A figure with its interval and unit.
#[must_use]
pub fn figure(figure: &Figure) -> String {
    value_with_interval(figure.value, Some([figure.lo, figure.hi]), &figure.unit)
}

/// A figure with its interval and unit, or "not measured: why".
#[must_use]
pub fn measured(measured: &Measured) -> String {
    match measured {
        Measured::Figure(found) => figure(found),
        Measured::Missing(why) => format!("not measured: {}", why.not_measured),
    }
}

/// A weight with its sign: "+1.3", "−0.4", "0.0".
#[must_use]
pub fn weight(log10_lr: f64) -> String {
    let text = number(log10_lr, 1);
    if log10_lr > 0.0 && text != "0.0" {
        format!("+{text}")
    } else {
        text
    }
}

/// A likelihood ratio in round numbers: "about 300 times", "over a million times", "only 1/20".
#[must_use]
pub fn times(log10_lr: f64) -> String {
    // Beyond this the scale of words ends too, and the digits mean nothing.
    const MILLION: f64 = 6.0;
    if log10_lr >= MILLION {
        return "over a million times".into();
    }
    if log10_lr < 0.0 {
        return format!("only 1/{}", one_digit(10f64.powf(-log10_lr)));
    }
    format!("about {} times", one_digit(10f64.powf(log10_lr)))
}

/// A ratio ≥ 1 to one significant digit, two below 10.
fn one_digit(ratio: f64) -> String {
    if ratio < 10.0 {
        let text = number(ratio, 1);
        return text.strip_suffix(".0").map_or(text.clone(), str::to_owned);
    }
    let size = 10f64.powf(ratio.log10().floor());
    let digit = (ratio / size).round();
    // Rounding up to the next power of ten would say more than the words of strength beside it do.
    let shown = if digit < 10.0 {
        digit
    } else {
        (10.0 * ratio / size).floor() / 10.0
    };
    number(shown * size, 0)
}

/// A small chance by its log10: "one in 2500", "less than one in a million million".
#[must_use]
pub fn one_in(log10: f64) -> String {
    // What lies beyond is told apart by nobody, and rounds to 0.
    const LEAST: f64 = -12.0;
    if log10 <= LEAST {
        "less than one in a million million".into()
    } else if log10 >= 0.0 {
        "one in one".into()
    } else {
        format!("one in {}", one_digit(10f64.powf(-log10)))
    }
}

/// A probability as a percentage that never claims certainty.
#[must_use]
pub fn per_cent(probability: f64) -> String {
    let p = 100.0 * probability;
    match p {
        _ if !p.is_finite() => "unknown".into(),
        p if p > 99.9 => "over 99.9\u{a0}%".into(),
        p if p > 0.0 && p < 0.1 => "under 0.1\u{a0}%".into(),
        // Rounding must not lift a chance to what is asked for before a process is named.
        _ if (SURE_ENOUGH - 0.01..SURE_ENOUGH).contains(&probability) => {
            format!("{}\u{a0}%", number(per_cent_short_of_sure(probability), 1))
        }
        _ if (SURE_ENOUGH..SURE_ENOUGH + 0.01).contains(&probability) => {
            format!("{}\u{a0}%", number(p, 1))
        }
        p if (10.0..99.0).contains(&p) => format!("{}\u{a0}%", number(p, 0)),
        p => format!("{}\u{a0}%", number(p, 1)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_follow_the_interval() {
        let near = |v, lo, hi, unit| value_with_interval(v, Some([lo, hi]), unit);
        assert_eq!(near(63.4321, 58.1, 69.2, "µm"), "63\u{a0}µm (58–69)");
        assert_eq!(
            near(150.031, 149.98, 150.08, "lpi"),
            "150.03\u{a0}lpi (149.98–150.08)"
        );
        assert_eq!(near(44.97, 44.9, 45.04, "°"), "44.97° (44.90–45.04)");
        assert_eq!(near(1.4213, 1.381, 1.459, "1"), "1.421 (1.381–1.459)");
        assert_eq!(near(-0.2, -0.5, 0.1, "1"), "−0.20 (−0.50 to 0.10)");
    }

    #[test]
    fn logarithms_are_shown_as_the_factors_they_stand_for() {
        let tenfold = value_with_interval(1.0, Some([0.9, 1.1]), "log10");
        assert_eq!(tenfold, "×10.0 (7.9–12.6)");
        assert_eq!(value_with_interval(0.0, None, "ln D"), "×1");
        assert_eq!(range_with_unit(-1.0, 0.0, "log10"), "×0.10–1.00");
        assert_eq!(range_with_unit(2.0, 3.5, "µm"), "2.0–3.5\u{a0}µm");
    }

    #[test]
    fn axes_and_values_speak_one_language() {
        assert_eq!(on_axis(2f64.ln(), "ln"), "×2");
        assert_eq!(on_axis(1.0, YES_OR_NO), "yes");
        assert_eq!(on_axis(-12.0, CHANCE_AS_LOG10), "10⁻¹²");
        assert_eq!(on_axis(0.0, CHANCE_AS_LOG10), "1");
        assert_eq!(
            value_with_interval(-12.0, None, CHANCE_AS_LOG10),
            "less than one in a million million"
        );
        assert_eq!(range_with_unit(0.0, 0.0, "inks"), "0\u{a0}inks");
        assert_eq!(range_with_unit(0.0, 1.0, "inks"), "0–1\u{a0}ink");
        assert_eq!(range_with_unit(0.0, 3.0, "places"), "0–3\u{a0}places");
        let places = |count, lo, hi| value_with_interval(count, Some([lo, hi]), "places");
        assert_eq!(places(1.0, 0.0, 2.96), "1\u{a0}place (0–3)");
        assert_eq!(places(7.0, 1.8, 12.2), "7\u{a0}places (2–12)");
        assert_eq!(value_with_interval(1.0, None, "inks"), "1\u{a0}ink");
        assert_eq!(on_axis(0.25, "D"), "0.25");
        assert_eq!(on_axis(8.0, CELLS), "5");
        assert_eq!(
            value_with_interval(8.0, None, CELLS),
            "5\u{a0}% of the frame"
        );
        assert_eq!(
            range_with_unit(4.0, 8.0, CELLS),
            "2.5–5.0\u{a0}% of the frame"
        );
        assert_eq!(range_with_unit(0.0, 1.0, YES_OR_NO), "no or yes");
        assert_eq!(range_with_unit(1.0, 1.0, YES_OR_NO), "yes");
    }

    #[test]
    fn large_and_odd_numbers_stay_readable() {
        assert_eq!(number(1_234_567.0, 0), "1\u{202f}234\u{202f}567");
        assert_eq!(number(1600.0, 0), "1600");
        assert_eq!(number(-0.04, 1), "0.0");
        assert_eq!(plain(0.0), "0");
        assert_eq!(plain(1234.5), "1234");
        assert_eq!(plain(0.012_345), "0.0123");
        assert_eq!(plain(5.0), "5");
        assert_eq!(plain(0.31), "0.31");
    }

    #[test]
    fn ratios_are_round_and_never_certain() {
        assert_eq!(times(2.52), "about 300 times");
        // Not "about 1000", which is strong support where this is moderately strong.
        assert_eq!(times(2.992), "about 980 times");
        assert_eq!(one_in(-3.3), "one in 2000");
        assert_eq!(
            one_in(f64::NEG_INFINITY),
            "less than one in a million million"
        );
        assert_eq!(times(0.78), "about 6 times");
        assert_eq!(times(7.3), "over a million times");
        assert_eq!(times(-1.0), "only 1/10");
        assert_eq!(per_cent(1.0), "over 99.9\u{a0}%");
        assert_eq!(per_cent(0.973), "97\u{a0}%");
        assert_eq!(per_cent(0.7998), "79.9\u{a0}%");
        assert_eq!(per_cent(SURE_ENOUGH), "80.0\u{a0}%");
        assert_eq!(weight(1.26), "+1.3");
        assert_eq!(weight(-0.01), "0.0");
    }
}
