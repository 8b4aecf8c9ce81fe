//! How much of a surface is inked, from what it reflects: Murray–Davies, Yule–Nielsen, Demichel.

/// Share of a surface under dots, 0–1 for plausible input, from the optical densities of the
/// tone and of the solid, both over paper.
///
/// Source: A. Murray, J. Franklin Inst. 221 (1936) 721. With `n` = 1 this is Murray–Davies; a
/// larger `n` allows for light spreading inside the paper: J. A. C. Yule & W. J. Nielsen,
/// Proc. TAGA 3 (1951) 65. (From memory.)
///
/// `None` where the solid is not darker than the paper or `n` is not positive: no share is then
/// determined.
///
/// ```
/// let share = inktell::ink::coverage::from_densities(0.45, 1.40, 1.0).unwrap();
/// assert!((share - 0.671937).abs() < 1e-5);
/// ```
#[must_use]
pub fn from_densities(tone: f64, solid: f64, n: f64) -> Option<f64> {
    from_reflectances(1.0, 10f64.powf(-tone), 10f64.powf(-solid), n)
}

/// The same from reflectances of the paper, the tone and the solid, all on one scale.
///
/// `None` where the solid is not darker than the paper, a reflectance is negative, or `n` is
/// not positive.
#[must_use]
pub fn from_reflectances(paper: f64, tone: f64, solid: f64, n: f64) -> Option<f64> {
    let sound = n > 0.0 && solid >= 0.0 && tone >= 0.0 && paper > solid;
    sound.then(|| {
        let [paper, tone, solid] = [paper, tone, solid].map(|r| r.powf(1.0 / n));
        (paper - tone) / (paper - solid)
    })
}

/// Share of the surface that shows each overprint of independent screens, by Demichel's
/// equations; `shares[i]` is the dot area of ink `i`, 0–1. Entry `k` of the answer is the
/// overprint of those inks whose bit is set in `k`; entry 0 is bare paper. They sum to 1.
///
/// Source: M. E. Demichel, Le Procédé 26 (1924) 17 (from memory).
#[must_use]
pub fn demichel<const INKS: usize>(shares: [f64; INKS]) -> Vec<f64> {
    let overprint = |set: usize| {
        let of_ink = |(ink, share): (usize, &f64)| match set >> ink & 1 {
            1 => *share,
            _ => 1.0 - share,
        };
        shares.iter().enumerate().map(of_ink).product()
    };
    (0..1usize << INKS).map(overprint).collect()
}
