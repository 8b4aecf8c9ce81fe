//! Trees grown one after the other, each on what those before it leave unexplained.

use super::columns::{Column, UNMEASURED};
use super::{Answer, Question, Trees};
use crate::weigh::fuse::posterior;
use rand::seq::index::sample;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

/// Trees that tell several hypotheses, and such as tell two: with 150 of the latter 0.7 % fewer specimens are named, with 400 no
/// more (cross-validation of 6170 of the five, 2026-11-28).
const TREES: usize = 600;
const TREES_OF_TWO: usize = 300;
/// Share of what a tree would add that is added.
const PACE: f64 = 0.05;
/// Questions of a tree at most.
const QUESTIONS: usize = 9;
/// Specimens that an answer rests on at least.
const FEWEST: u32 = 20;
/// Share of the specimens that a tree is grown on, and of the findings that it may ask for: trees that differ repeat each
/// other's mistakes less (Friedman, Computational Statistics & Data Analysis 38 (2002) 367).
const SPECIMENS: f64 = 0.8;
const FINDINGS: f64 = 0.5;
/// Pull of what an answer adds towards nothing, as firm as four specimens of even chances. 500 trees at a pace of 0.06 cost
/// 0.150 by themselves with this, 0.152 with twice as much (the same).
const RIDGE: f64 = 1.0;
/// Gradients are added up as whole numbers of this part: sums are then the same in any order, and two questions that part
/// the specimens alike are equally good to the last digit, on any machine.
const PART: f64 = 1.0 / (1 << 20) as f64;

/// What a specimen asks to be added to the ln likelihood of a hypothesis, and how firmly (the first and second derivative
/// of its log loss), in parts.
type Pull = [i32; 2];

/// The sum of the pulls of several specimens.
type Sum = [i64; 2];

/// Specimens that a tree has not parted yet.
struct Leaf {
    rows: Vec<u32>,
    /// What the answers before it have added.
    added: Vec<f64>,
    /// The answer that leads here: question and side.
    from: Option<(usize, usize)>,
    /// Of each finding that may be asked for; none where too few are left to part.
    tallies: Vec<Tally>,
    best: Option<Parting>,
}

/// Specimens by the steps of a finding.
#[derive(Clone)]
struct Tally {
    /// The sum of their pulls, by step, then hypothesis.
    sums: Vec<Sum>,
    /// How many they are, by step.
    n: Vec<u32>,
}

impl Tally {
    /// Without some of the specimens in it.
    fn without(mut self, some: &Self) -> Self {
        add_sums(&mut self.sums, &some.sums, -1);
        for (n, some) in self.n.iter_mut().zip(&some.n) {
            *n -= some;
        }
        self
    }
}

/// Specimens parted by a question.
struct Parted {
    low: Vec<u32>,
    high: Vec<u32>,
    /// Those on which it was not measured: their tree ends here.
    ended: Vec<u32>,
}

/// A question that would part specimens.
#[derive(Clone, Copy)]
struct Parting {
    gain: f64,
    column: usize,
    /// Steps from this on are high.
    step: u8,
}

/// Specimens with the pulls of each, for one tree.
struct Grower<'a> {
    columns: &'a [Column],
    hypotheses: usize,
    /// By specimen, then hypothesis.
    pulls: &'a [Pull],
    /// Findings that may be asked for.
    asked: Vec<usize>,
}

/// Grows trees that tell the hypotheses of the specimens, of which each has its `weight`, 1 in the mean; `silent` are the
/// findings whose absence, the lowest of their values, says nothing. The same specimens give the same trees.
#[must_use]
pub fn fit(
    values: &[&[Option<f64>]],
    truth: &[usize],
    weight: &[f64],
    hypotheses: usize,
    silent: &[usize],
) -> Trees {
    let findings = values.first().map_or(0, |row| row.len());
    let silent = absences(values, silent);
    let columns = columns(values, findings, &silent);
    let mut rng = ChaCha8Rng::seed_from_u64(0);
    let mut sums = vec![0.0; truth.len() * hypotheses];
    let count = if hypotheses > 2 { TREES } else { TREES_OF_TWO };
    let trees = (0..count)
        .map(|_| {
            let pulls = pulls(&sums, truth, weight, hypotheses);
            let rows = (0..truth.len() as u32).filter(|_| rng.random_bool(SPECIMENS));
            let rows = rows.collect();
            let grower = Grower {
                columns: &columns,
                hypotheses,
                pulls: &pulls,
                asked: chosen(&mut rng, findings, FINDINGS),
            };
            let tree = grower.grow(rows);
            add_to(&mut sums, &tree, &columns, hypotheses);
            with_values(tree, &columns)
        })
        .collect();
    Trees { silent, trees }
}

/// The lowest value of each of some findings.
fn absences(values: &[&[Option<f64>]], findings: &[usize]) -> Vec<(usize, f64)> {
    let lowest = |f: usize| values.iter().filter_map(|row| row[f]).reduce(f64::min);
    findings
        .iter()
        .filter_map(|&f| Some((f, lowest(f)?)))
        .collect()
}

fn columns(values: &[&[Option<f64>]], findings: usize, silent: &[(usize, f64)]) -> Vec<Column> {
    let of = |finding: usize| {
        let absent = silent.iter().find(|s| s.0 == finding).map(|s| s.1);
        let says = move |value: &f64| absent.is_none_or(|absent| *value > absent);
        Column::new(values.iter().map(move |row| row[finding].filter(says)))
    };
    (0..findings).into_par_iter().map(of).collect()
}

/// Some of so many, in their order.
fn chosen(rng: &mut ChaCha8Rng, of: usize, share: f64) -> Vec<usize> {
    let n = (share * of as f64).ceil() as usize;
    let mut chosen = sample(rng, of, n.min(of)).into_vec();
    chosen.sort_unstable();
    chosen
}

fn pulls(sums: &[f64], truth: &[usize], weight: &[f64], hypotheses: usize) -> Vec<Pull> {
    let alike = vec![1.0; hypotheses];
    sums.par_chunks(hypotheses)
        .zip(truth.par_iter().zip(weight))
        .flat_map_iter(|(sum, (&truth, &weight))| {
            let parts = move |x: f64| (weight * x / PART).round() as i32;
            posterior(sum, &alike)
                .into_iter()
                .enumerate()
                .map(move |(h, p)| {
                    let is = f64::from(u8::from(h == truth));
                    [parts(is - p), parts(p * (1.0 - p))]
                })
        })
        .collect()
}

impl Grower<'_> {
    /// A tree, its limits given as steps.
    fn grow(&self, rows: Vec<u32>) -> Vec<Question> {
        let mut tree: Vec<Question> = Vec::new();
        let (tallies, nothing) = (self.tallies(&rows), vec![0.0; self.hypotheses]);
        let mut leaves = vec![self.leaf(rows, nothing, tallies, None)];
        while tree.len() < QUESTIONS {
            let best = (0..leaves.len())
                .filter_map(|at| Some((at, leaves[at].best?)))
                .reduce(|a, b| if b.1.gain > a.1.gain { b } else { a });
            let Some((at, parting)) = best else {
                break;
            };
            let leaf = leaves.swap_remove(at);
            let question = tree.len();
            if let Some((before, side)) = leaf.from {
                tree[before].answers[side].next = Some(question);
            }
            let parted = self.parted(&leaf.rows, parting);
            let added = [&parted.low, &parted.high].map(|rows| self.asked_for(rows));
            tree.push(Question {
                finding: parting.column,
                from: f64::from(parting.step),
                answers: added.each_ref().map(|to| Answer {
                    adds: to.iter().zip(&leaf.added).map(|(to, at)| to - at).collect(),
                    next: None,
                }),
            });
            if tree.len() < QUESTIONS {
                let tallies = self.tallies_of(&parted, leaf.tallies);
                let rows = [parted.low, parted.high];
                let sides = rows.into_iter().zip(added).zip(tallies);
                for (side, ((rows, added), tallies)) in sides.enumerate() {
                    leaves.push(self.leaf(rows, added, tallies, Some((question, side))));
                }
            }
        }
        tree
    }

    fn leaf(
        &self,
        rows: Vec<u32>,
        added: Vec<f64>,
        tallies: Vec<Tally>,
        from: Option<(usize, usize)>,
    ) -> Leaf {
        // The best by gain, of several the first by finding: not by which thread was done first.
        let best = (self.asked.par_iter().zip(&tallies))
            .filter_map(|(&column, tally)| self.best_of(column, tally))
            .collect::<Vec<_>>()
            .into_iter()
            .reduce(|a, b| if b.gain > a.gain { b } else { a });
        Leaf {
            rows,
            added,
            from,
            tallies,
            best,
        }
    }

    fn parted(&self, rows: &[u32], parting: Parting) -> Parted {
        let steps = &self.columns[parting.column].steps;
        let (measured, ended): (Vec<u32>, Vec<u32>) = rows
            .iter()
            .partition(|row| steps[**row as usize] != UNMEASURED);
        let (high, low) =
            (measured.into_iter()).partition(|&row| steps[row as usize] >= parting.step);
        Parted { low, high, ended }
    }

    /// Tallies of the specimens with low and with high values, from those of all.
    fn tallies_of(&self, parted: &Parted, all: Vec<Tally>) -> [Vec<Tally>; 2] {
        let Parted { low, high, ended } = parted;
        let too_few = |rows: &[u32]| rows.len() < 2 * FEWEST as usize;
        let (fewer, more) = if low.len() < high.len() {
            (low, high)
        } else {
            (high, low)
        };
        if too_few(more) {
            return [Vec::new(), Vec::new()];
        }
        let of_fewer = self.tallies(fewer);
        // What is left of all without the fewer and the ended is the more: their sums are whole numbers, so it comes to the same.
        let of_more = if ended.len() < more.len() {
            let of_ended = self.tallies(ended);
            let rest = all.into_iter().zip(&of_fewer).zip(&of_ended);
            rest.map(|((all, fewer), ended)| all.without(fewer).without(ended))
                .collect()
        } else {
            self.tallies(more)
        };
        let of_fewer = if too_few(fewer) { Vec::new() } else { of_fewer };
        if low.len() < high.len() {
            [of_fewer, of_more]
        } else {
            [of_more, of_fewer]
        }
    }

    /// Specimens by the steps of each finding that may be asked for.
    fn tallies(&self, rows: &[u32]) -> Vec<Tally> {
        self.asked
            .par_iter()
            .map(|&column| self.tally(column, rows))
            .collect()
    }

    fn tally(&self, column: usize, rows: &[u32]) -> Tally {
        let Column { steps, limits } = &self.columns[column];
        let count = limits.len() + 1;
        let mut tally = Tally {
            sums: vec![[0; 2]; count * self.hypotheses],
            n: vec![0; count],
        };
        for &row in rows {
            let step = steps[row as usize];
            if step != UNMEASURED {
                let step = step as usize;
                tally.n[step] += 1;
                add(&mut tally.sums[step * self.hypotheses..], self.of(row));
            }
        }
        tally
    }

    fn of(&self, row: u32) -> &[Pull] {
        &self.pulls[row as usize * self.hypotheses..][..self.hypotheses]
    }

    fn sum(&self, rows: &[u32]) -> Vec<Sum> {
        let mut sums = vec![[0; 2]; self.hypotheses];
        for &row in rows {
            add(&mut sums, self.of(row));
        }
        sums
    }

    /// What some specimens ask to be added: Newton's step, drawn towards nothing, at its pace; five decimals of it.
    fn asked_for(&self, rows: &[u32]) -> Vec<f64> {
        const DECIMALS: f64 = 1e5;
        self.sum(rows)
            .iter()
            .map(|[pull, firmness]| *pull as f64 * PART / (*firmness as f64 * PART + RIDGE))
            .map(|step| (PACE * step * DECIMALS).round() / DECIMALS)
            .collect()
    }

    /// Where a finding best parts some specimens.
    fn best_of(&self, column: usize, tally: &Tally) -> Option<Parting> {
        let Tally { sums, n } = tally;
        let mut high: Vec<Sum> = vec![[0; 2]; self.hypotheses];
        for step in sums.chunks(self.hypotheses) {
            add_sums(&mut high, step, 1);
        }
        let whole = worth(&high);
        let mut low: Vec<Sum> = vec![[0; 2]; self.hypotheses];
        let (mut below, measured) = (0, n.iter().sum::<u32>());
        let mut best: Option<Parting> = None;
        for step in 1..n.len() {
            let moved = &sums[(step - 1) * self.hypotheses..][..self.hypotheses];
            add_sums(&mut low, moved, 1);
            add_sums(&mut high, moved, -1);
            below += n[step - 1];
            if n[step - 1] == 0 || below < FEWEST || measured - below < FEWEST {
                continue;
            }
            let gain = worth(&low) + worth(&high) - whole;
            if gain > best.map_or(0.0, |b| b.gain) {
                best = Some(Parting {
                    gain,
                    column,
                    step: step as u8,
                });
            }
        }
        best
    }
}

/// How much better the log loss gets where all of these get what they ask for, by its second order, twice over.
fn worth(sums: &[Sum]) -> f64 {
    sums.iter()
        .map(|[pull, firmness]| (*pull as f64 * PART).powi(2) / (*firmness as f64 * PART + RIDGE))
        .sum()
}

fn add(sums: &mut [Sum], pulls: &[Pull]) {
    for (sum, pull) in sums.iter_mut().zip(pulls) {
        sum[0] += i64::from(pull[0]);
        sum[1] += i64::from(pull[1]);
    }
}

fn add_sums(sums: &mut [Sum], others: &[Sum], times: i64) {
    for (sum, other) in sums.iter_mut().zip(others) {
        sum[0] += times * other[0];
        sum[1] += times * other[1];
    }
}

/// What a tree, its limits given as steps, adds to the sums of all specimens.
fn add_to(sums: &mut [f64], tree: &[Question], columns: &[Column], hypotheses: usize) {
    sums.par_chunks_mut(hypotheses)
        .enumerate()
        .for_each(|(row, sum)| {
            let mut next = (!tree.is_empty()).then_some(0);
            while let Some(question) = next.map(|at| &tree[at]) {
                let step = columns[question.finding].steps[row];
                if step == UNMEASURED {
                    break;
                }
                let answer = &question.answers[usize::from(f64::from(step) >= question.from)];
                for (s, add) in sum.iter_mut().zip(&answer.adds) {
                    *s += add;
                }
                next = answer.next;
            }
        });
}

/// The tree with its limits as values.
fn with_values(mut tree: Vec<Question>, columns: &[Column]) -> Vec<Question> {
    for question in &mut tree {
        let step = question.from as usize;
        question.from = columns[question.finding].limits[step - 1];
    }
    tree
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_left_of_all_is_counted_as_if_one_by_one() {
        let mut rng = ChaCha8Rng::seed_from_u64(7);
        let mut value = |share: f64| rng.random_bool(share).then(|| rng.random_range(0.0..1.0));
        let values: Vec<Vec<Option<f64>>> = (0..400)
            .map(|_| vec![value(0.9), value(0.4), value(0.7)])
            .collect();
        let rows: Vec<&[Option<f64>]> = values.iter().map(Vec::as_slice).collect();
        let truth: Vec<usize> = (0..400).map(|i| i % 3).collect();
        let columns = columns(&rows, 3, &[]);
        let pulls = pulls(&vec![0.0; 1200], &truth, &vec![1.0; 400], 3);
        let grower = Grower {
            columns: &columns,
            hypotheses: 3,
            pulls: &pulls,
            asked: vec![0, 1, 2],
        };
        let rows: Vec<u32> = (0..400).collect();
        for (column, step) in [(0, 20), (0, 50), (1, 30), (2, 10)] {
            let parting = Parting {
                gain: 1.0,
                column,
                step,
            };
            let parted = grower.parted(&rows, parting);
            let told = grower.tallies_of(&parted, grower.tallies(&rows));
            for (told, rows) in told.iter().zip([&parted.low, &parted.high]) {
                let counted = grower.tallies(rows);
                assert!(rows.len() >= 2 * FEWEST as usize && told.len() == 3);
                for (told, counted) in told.iter().zip(&counted) {
                    assert_eq!((&told.sums, &told.n), (&counted.sums, &counted.n));
                }
            }
        }
    }
}
