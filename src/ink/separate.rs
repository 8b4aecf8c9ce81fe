//! Separating densities into inks.
