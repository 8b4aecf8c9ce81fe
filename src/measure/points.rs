//! Statistics of point patterns: Clark–Evans index, pair correlation, Ripley K.
