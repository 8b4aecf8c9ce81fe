//! The bare paper: its colour, where it is, and how the light falls on it.

use crate::plane::{Mask, Rgb};

/// The bare paper as photographed.
#[derive(Clone, Debug, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct Paper {
    /// Linear light of the paper at the middle of the field, R, G, B.
    pub linear: [f64; 3],
    /// CIELAB (D65) of the paper as photographed, with no correction for the camera's white balance.
    pub lab: [f64; 3],
    /// Share of the usable field that is bare paper, 0–1.
    pub share: f64,
}

/// The paper with the light that falls on it.
#[derive(Clone, Debug)]
pub struct Ground {
    /// The paper's figures.
    pub paper: Paper,
    /// Per channel: coefficients of ln(light) over 1, u, v, u², uv, v² with u, v ∈ [−1, 1]
    /// across the frame's width and height.
    pub light: [[f64; 6]; 3],
}

/// Finds the paper and the light on it.
#[must_use]
pub fn find(_linear: &Rgb, _usable: &Mask) -> Ground {
    Ground {
        paper: Paper {
            linear: [1.0; 3],
            lab: [100.0, 0.0, 0.0],
            share: 0.0,
        },
        light: [[0.0; 6]; 3],
    }
}
