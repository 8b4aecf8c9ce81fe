//! How likely structure without a screen is to look like one.

use super::track::Track;

/// Places in the half plane of frequencies that a peak can stand in: the half window of bins.
const TRIALS: f64 = (super::spectrum::WINDOW * super::spectrum::WINDOW / 2) as f64;
/// Share of the evidence kept. Hatching and grain keep step over a few patches, so that three
/// patches bring about the evidence of one; an estimate, not yet fitted to a reference sample.
pub(super) const EVIDENCE_SHARE: f64 = 0.35;
/// Offset and two components of frequency are fitted to the patches before they are judged.
const FITTED: f64 = 3.0;
/// log10 below which a smaller probability says nothing more.
pub(super) const FLOOR_LOG10: f64 = -12.0;

/// Evidence of waves against phases drawn at random, nats. With a share C² of the power of n
/// patches in step, random phases do as well with probability (1 − C²)^(n − 3), as for R² in
/// regression with three fitted parameters.
#[must_use]
pub fn nats(waves: &[&Track]) -> f64 {
    waves
        .iter()
        .map(|t| {
            let free = (t.effective - FITTED).max(0.0);
            let left = (1.0 - t.coherence.powi(2)).max(1e-4);
            -left.ln() * free * EVIDENCE_SHARE
        })
        .sum()
}

/// log10 of the probability that structure without a screen would keep step as well as these
/// waves somewhere among the frequencies searched.
#[must_use]
pub fn log10_of(waves: &[&Track]) -> f64 {
    log10_of_pieces(waves, 1)
}

/// The same of the waves of several pieces of a field, none over another, that agree in frequency: found among so many
/// pieces that were looked at.
#[must_use]
pub fn log10_of_pieces(waves: &[&Track], looked_at: usize) -> f64 {
    let trials = TRIALS * looked_at as f64;
    (trials.log10() - nats(waves) / std::f64::consts::LN_10).clamp(FLOOR_LOG10, 0.0)
}
