//! What photographs of one sheet say together.

use super::weigher::Weigher;

/// How far photographs of one sheet are alike, 0–1, as `inktell calibrate sheets` finds it: over 100
/// sheets (2026-11-27) readings from two photographs and from three cost least at 1 (0.129 and 0.137, from
/// one photograph 0.345; at 0.8 it is 0.133 and 0.140). So a second photograph says much by what it
/// shows that the first does not, and nothing by repeating it.
pub(super) const ALIKE: f64 = 1.0;

/// How many photographs of different sheets say as much as `n` of one sheet that are alike to the
/// degree `alike` (0: as different as sheets, 1: one photograph over and over): the effective number of
/// a cluster sample, n / (1 + (n − 1)·ρ). Source: Kish, Survey Sampling (1965), from memory.
fn worth(n: usize, alike: f64) -> f64 {
    n as f64 / (1.0 + (n as f64 - 1.0) * alike)
}

/// Each finding's weighted ln likelihoods, mean over the photographs that show it times what those are
/// worth; none where no photograph shows it.
pub(super) fn joined(
    weigher: &Weigher,
    photos: &[Vec<Option<f64>>],
    alike: f64,
) -> Vec<Option<Vec<f64>>> {
    let weighed: Vec<Vec<Vec<f64>>> = photos.iter().map(|v| weigher.weigh(v)).collect();
    (0..weigher.distributions.len())
        .map(|f| {
            let seen: Vec<&Vec<f64>> = weighed
                .iter()
                .zip(photos)
                .filter(|(_, v)| v[f].is_some())
                .map(|(w, _)| &w[f])
                .collect();
            let first = seen.first()?;
            let share = worth(seen.len(), alike) / seen.len() as f64;
            Some(
                (0..first.len())
                    .map(|h| share * seen.iter().map(|row| row[h]).sum::<f64>())
                    .collect(),
            )
        })
        .collect()
}

/// Sum of the ln likelihoods of all findings.
pub(super) fn totals(rows: &[Option<Vec<f64>>], hypotheses: usize) -> Vec<f64> {
    let mut total = vec![0.0; hypotheses];
    for row in rows.iter().flatten() {
        for (t, l) in total.iter_mut().zip(row) {
            *t += l;
        }
    }
    total
}

/// Holds the ratio of the best to every other hypothesis within the bound.
pub(super) fn bound(ln: &[f64], bound_ln: f64) -> Vec<f64> {
    let top = ln.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    ln.iter().map(|l| (l - top).max(-bound_ln)).collect()
}
