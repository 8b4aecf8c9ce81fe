//! No rule is read at a multiple of its scale: not with the long graduations for the short ones.

use super::*;

/// Numerals: none, beneath every tenth graduation, beside its end and clear of the shortest ones.
const NUMERALS: [Option<(f64, f64)>; 3] = [None, Some((0.0, 1.0)), Some((1.3, -0.85))];

#[derive(Default)]
struct Count {
    right: usize,
    refused: usize,
    wrong: usize,
}

impl Count {
    /// Reads a rule without stating its graduation; `truth` in px/mm.
    fn common(&mut self, drawn: &Drawn, truth: f64) {
        self.add(drawn, truth, measure_common_rule(&drawn.photo(7)));
    }

    fn stated(&mut self, drawn: &Drawn, graduation_mm: f64) {
        let read = measure_rule(&drawn.photo(7), graduation_mm);
        self.add(drawn, drawn.px_per_step / graduation_mm, read);
    }

    fn add(&mut self, drawn: &Drawn, truth: f64, read: Result<RuleReading, RuleError>) {
        let said = match &read {
            Ok(reading) if (reading.scale.value / truth - 1.0).abs() < 0.005 => {
                self.right += 1;
                return;
            }
            Ok(reading) => {
                self.wrong += 1;
                format!("WRONG {:.2}", reading.scale.value)
            }
            Err(error) => {
                self.refused += 1;
                error.to_string()
            }
        };
        println!(
            "{:.2} px/step, turned {}, {} wide, stretch {}, numerals {:?}: {said}",
            drawn.px_per_step, drawn.turn_deg, drawn.width, drawn.stretch, drawn.numerals
        );
    }

    fn holds_no_wrong(&self, what: &str) {
        println!(
            "{what}: {} right, {} refused, {} wrong",
            self.right, self.refused, self.wrong
        );
        assert_eq!(self.wrong, 0, "{what}");
    }

    fn holds(&self, what: &str) {
        self.holds_no_wrong(what);
        let all = self.right + self.refused;
        assert!(
            self.right * 100 >= all * 95,
            "{what}: {} of {all} right",
            self.right
        );
    }
}

/// Wide enough for ten graduations at 120 px/mm, and so high that they are whole in it at a turn of 10 degrees.
const WIDE: Drawn = Drawn {
    width: 1600,
    height: 1100,
    ..PLAIN
};

/// Factor that keeps the longest strokes at 240 px, as far as strokes of 2 to 12 mm allow.
fn stretch(px_per_mm: f64) -> f64 {
    (60.0 / px_per_mm).clamp(0.5, 3.0)
}

#[test]
fn no_multiple_is_read_of_a_millimetre_rule() {
    let mut count = Count::default();
    // At 12 px/mm, 6 in the reduced picture, some are refused as a screen of dots: strokes a px wide and turned
    // by some degrees beat with the rows of px.
    for (i, px_per_step) in [14.0, 20.0, 30.0, 56.2, 109.0].into_iter().enumerate() {
        for (j, turn) in [-10.0, -3.0, 0.0, 3.0, 6.0, 10.0].into_iter().enumerate() {
            // Upside down every other time.
            let turn_deg = turn + 180.0 * ((i + j) % 2) as f64;
            let drawn = Drawn {
                px_per_step,
                turn_deg,
                stretch: stretch(px_per_step),
                numerals: NUMERALS[(i + j) % 3],
                heavy: [1.0, 1.5][j % 2],
                ..WIDE
            };
            count.common(&drawn, px_per_step);
        }
    }
    count.holds("millimetre rules");
}

/// The shortest graduations are too close to be told in the reduced picture.
#[test]
fn no_multiple_is_read_where_the_millimetres_are_lost() {
    let mut count = Count::default();
    // On the narrow ones fewer than twenty of the long graduations are seen.
    for (width, heavy) in [(400, 1.0), (400, 2.0), (1600, 1.0), (1600, 2.0)] {
        for tenths_px in (20..100).step_by(10) {
            let px_per_step = f64::from(tenths_px) / 10.0;
            let drawn = Drawn {
                px_per_step,
                turn_deg: 3.0,
                width,
                height: width * 5 / 8,
                stretch: 3.0,
                heavy,
                ..PLAIN
            };
            count.common(&drawn, px_per_step);
        }
    }
    count.holds_no_wrong("millimetres lost");
}

fn sixteenths(k: i64) -> f64 {
    match (k.rem_euclid(16), k.rem_euclid(8), k.rem_euclid(4), k % 2) {
        (0, ..) => 8.0,
        (_, 0, ..) => 6.5,
        (_, _, 0, _) => 5.0,
        (.., 0) => 3.8,
        _ => 2.6,
    }
}

#[test]
fn inches_pass_for_no_millimetres() {
    let mut count = Count::default();
    for (i, px_per_step) in [14.0, 30.0, 60.0].into_iter().enumerate() {
        for turn in [-7.0, 0.0, 4.0] {
            let drawn = Drawn {
                px_per_step,
                turn_deg: turn + 180.0 * i as f64,
                lengths: sixteenths,
                ..WIDE
            };
            let read = measure_common_rule(&drawn.photo(7));
            assert!(matches!(read, Err(RuleError::Contradiction(_))), "{read:?}");
            count.stated(&drawn, 1.5875);
        }
    }
    count.holds("sixteenths of an inch");
}

#[test]
fn half_millimetres_and_graticules_are_read() {
    let mut count = Count::default();
    for (i, px_per_step) in [14.0, 25.0, 50.0].into_iter().enumerate() {
        for turn in [-7.0, 0.0, 4.0] {
            let halves = Drawn {
                px_per_step,
                turn_deg: turn + 180.0 * i as f64,
                lengths: half,
                numerals: NUMERALS[i],
                ..WIDE
            };
            count.common(&halves, 2.0 * px_per_step);
            let graticule = Drawn {
                lengths: whole,
                ..halves
            };
            count.stated(&graticule, 0.1);
            count.stated(&graticule, 0.01);
        }
    }
    count.holds("half-millimetre rules and graticules");
}

/// The wide count, for whoever changes how rules are read: `cargo test --lib every_rule -- --ignored --nocapture`.
#[test]
#[ignore = "takes some minutes"]
fn every_rule_up_to_ten_degrees_is_read_right() {
    let (mut near, mut steep) = (Count::default(), Count::default());
    for px_per_step in [12.0, 16.0, 20.0, 25.0, 30.0, 40.0, 56.2, 80.0, 109.0, 120.0] {
        for turn in [-15_i32, -10, -7, -4, -3, -2, -1, 0, 1, 2, 3, 4, 6, 10, 15] {
            for (numerals, upside) in NUMERALS.iter().flat_map(|n| [(n, 0.0), (n, 180.0)]) {
                let drawn = Drawn {
                    px_per_step,
                    turn_deg: f64::from(turn) + upside,
                    stretch: stretch(px_per_step),
                    numerals: *numerals,
                    ..WIDE
                };
                let count = if turn.abs() <= 10 {
                    &mut near
                } else {
                    &mut steep
                };
                count.common(&drawn, px_per_step);
            }
        }
    }
    near.holds("turned by up to 10 degrees");
    steep.holds_no_wrong("turned by 15 degrees");
}
