//! Progress over the photographs of a lot.

use indicatif::{HumanDuration, ProgressBar, ProgressDrawTarget, ProgressState, ProgressStyle};
use std::fmt::Write;
use std::io::IsTerminal;
use std::time::Duration;

/// Least time that a photograph is said to take, seconds: a clock may not have moved yet.
const SHORTEST_S: f64 = 1e-3;

/// A bar over so many photographs, drawn on standard error and only where that is a terminal.
pub fn progress(photographs: u64, quiet: bool) -> ProgressBar {
    let bar = ProgressBar::new(photographs);
    if quiet || !std::io::stderr().is_terminal() {
        bar.set_draw_target(ProgressDrawTarget::hidden());
        return bar;
    }
    if let Ok(style) = ProgressStyle::with_template("{bar:24} {pos} of {len} photographs, {pace}") {
        bar.set_style(
            style.with_key("pace", |state: &ProgressState, out: &mut dyn Write| {
                let all = state.len().unwrap_or(0);
                // A bar that cannot be drawn keeps no sheet from being measured.
                let _ = out.write_str(&pace(state.pos(), all, state.elapsed()));
            }),
        );
    }
    bar.enable_steady_tick(Duration::from_millis(250));
    bar
}

/// Rate and time left, as the photographs done so far have it on the whole. They are counted as their
/// sheet is finished, so before the first is there is no rate and only the time that has passed.
fn pace(done: u64, all: u64, passed: Duration) -> String {
    if done == 0 {
        return format!(
            "{:#} on the first sheets, no rate yet",
            HumanDuration(passed)
        );
    }
    let each = passed.as_secs_f64() / done as f64;
    let left = Duration::from_secs_f64(each * all.saturating_sub(done) as f64);
    let pace = if each < 1.0 {
        format!("{:.1}/s", 1.0 / each.max(SHORTEST_S))
    } else {
        format!("{each:.1} s each")
    };
    format!("{pace}, {:#} left", HumanDuration(left))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_rate_is_told_before_there_is_one() {
        let begun = pace(0, 30, Duration::from_secs(12));
        assert_eq!(begun, "12s on the first sheets, no rate yet");
        let slow = pace(6, 30, Duration::from_secs(12));
        assert_eq!(slow, "2.0 s each, 48s left");
        let fast = pace(30, 90, Duration::from_secs(12));
        assert_eq!(fast, "2.5/s, 24s left");
        assert_eq!(pace(30, 30, Duration::ZERO), "1000.0/s, 0s left");
    }
}
