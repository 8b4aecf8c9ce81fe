//! What findings say in each other's company.
//!
//! The sum of [`super::fuse`] gives each finding one say, whatever the others show. But long strokes say one thing where the
//! ink stands in relief of even depth, and another where it does not. Boosted regression trees (Friedman, Annals of
//! Statistics 29 (2001) 1189) learn that from specimens: each tree asks one finding after the other, and every answer
//! adds to the ln likelihood of each hypothesis. What an answer adds is the say of the finding that was asked, so the
//! whole stays a sum of one term a finding, and the report can show each finding's say.
//!
//! A tree ends where it would ask what was not measured: that then says nothing.

mod columns;
mod grow;

use serde::{Deserialize, Serialize};

pub use grow::fit;

/// Boosted trees over the findings.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Trees {
    /// Values that stand for "none of its kind" in findings whose absence says nothing, by finding.
    silent: Vec<(usize, f64)>,
    /// The trees, each a list of questions, of which the first is asked first.
    trees: Vec<Vec<Question>>,
}

/// A finding asked for by a tree.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(from = "Packed", into = "Packed")]
struct Question {
    /// Its place among the findings.
    finding: usize,
    /// Values from this on are high, those below low.
    from: f64,
    /// What is added for a low and for a high value.
    answers: [Answer; 2],
}

/// What follows from an answer.
#[derive(Clone, Debug, PartialEq)]
struct Answer {
    /// Added to the ln likelihood of each hypothesis.
    adds: Vec<f64>,
    /// The question asked next, by its place in the tree.
    next: Option<usize>,
}

/// A question as the reference's file keeps it, in which there are tens of thousands: what it holds in its order, without
/// names.
type Packed = (usize, f64, [(Vec<f64>, Option<usize>); 2]);

impl From<Packed> for Question {
    fn from((finding, from, answers): Packed) -> Self {
        Self {
            finding,
            from,
            answers: answers.map(|(adds, next)| Answer { adds, next }),
        }
    }
}

impl From<Question> for Packed {
    fn from(question: Question) -> Self {
        let answers = question.answers.map(|answer| (answer.adds, answer.next));
        (question.finding, question.from, answers)
    }
}

impl Trees {
    /// What each finding says of each of the hypotheses; zeros where it was not measured or not asked.
    #[must_use]
    pub fn say(&self, values: &[Option<f64>], hypotheses: usize) -> Vec<Vec<f64>> {
        let mut values = values.to_vec();
        for &(finding, absent) in &self.silent {
            values[finding] = values[finding].filter(|v| *v > absent);
        }
        let mut said = vec![vec![0.0; hypotheses]; values.len()];
        for tree in &self.trees {
            let mut next = (!tree.is_empty()).then_some(0);
            while let Some(question) = next.map(|at| &tree[at]) {
                let Some(value) = values[question.finding] else {
                    break;
                };
                let answer = &question.answers[usize::from(value >= question.from)];
                for (s, add) in said[question.finding].iter_mut().zip(&answer.adds) {
                    *s += add;
                }
                next = answer.next;
            }
        }
        said
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    /// Two findings between 0 and 1 of which neither says anything alone: it is hypothesis 1 where just one is
    /// above a half. The third is noise.
    fn either_or(n: usize, seed: u64) -> (Vec<Vec<Option<f64>>>, Vec<usize>) {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        (0..n)
            .map(|_| {
                let values: Vec<f64> = (0..3).map(|_| rng.random_range(0.0..1.0)).collect();
                let one = (values[0] > 0.5) != (values[1] > 0.5);
                (values.into_iter().map(Some).collect(), usize::from(one))
            })
            .unzip()
    }

    fn grown(rows: &[Vec<Option<f64>>], truth: &[usize], silent: &[usize]) -> Trees {
        let rows: Vec<&[Option<f64>]> = rows.iter().map(Vec::as_slice).collect();
        fit(&rows, truth, &vec![1.0; rows.len()], 2, silent)
    }

    fn sum(said: &[Vec<f64>]) -> f64 {
        said.iter().map(|s| s[1] - s[0]).sum()
    }

    #[test]
    fn what_only_two_findings_together_say_is_learnt() {
        let (rows, truth) = either_or(1000, 1);
        let trees = grown(&rows, &truth, &[]);
        let (fresh, truth) = either_or(500, 2);
        let right = fresh
            .iter()
            .zip(&truth)
            .filter(|(row, t)| usize::from(sum(&trees.say(row, 2)) > 0.0) == **t)
            .count();
        assert!(right > 450, "{right} of 500");
        // And each of the two has its part in that.
        let said = trees.say(&[Some(0.9), Some(0.1), Some(0.5)], 2);
        let part = |f: usize| said[f][1] - said[f][0];
        assert!(part(0) + part(1) > 2.0 && part(2).abs() < 0.5, "{said:?}");
    }

    #[test]
    fn what_was_not_measured_says_nothing() {
        let (rows, truth) = either_or(400, 3);
        let trees = grown(&rows, &truth, &[]);
        for said in [
            trees.say(&[None, None, None], 2),
            trees.say(&[None, Some(0.9), None], 2),
        ] {
            assert_eq!(said[0], [0.0; 2]);
            assert_eq!(said[2], [0.0; 2]);
        }
    }

    #[test]
    fn absence_says_nothing_where_that_is_asked_for() {
        // Hypothesis 1 shows something in every second specimen, hypothesis 0 never.
        let rows: Vec<Vec<Option<f64>>> = (0..400)
            .map(|i| vec![Some(if i % 4 == 1 { 1.0 } else { 0.0 })])
            .collect();
        let truth: Vec<usize> = (0..400).map(|i| i % 2).collect();
        assert!(sum(&grown(&rows, &truth, &[]).say(&[Some(0.0)], 2)) < -0.2);
        let silent = grown(&rows, &truth, &[0]);
        assert_eq!(silent.say(&[Some(0.0)], 2), [[0.0; 2]]);
    }

    #[test]
    fn the_same_specimens_give_the_same_trees_on_any_number_of_threads() {
        let (rows, truth) = either_or(300, 4);
        let by = |threads: usize| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
            pool.unwrap().install(|| grown(&rows, &truth, &[]))
        };
        assert_eq!(by(1), by(3));
    }
}
