//! Colour: transfer curves and embedded profiles to linear light, sRGB primaries.
