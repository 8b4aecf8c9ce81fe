//! The forward model: drawing → plate, stone or screen → ink on paper → loupe photo, with exact truth.
