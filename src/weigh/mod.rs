//! Measurements → likelihood ratios → a reading.
