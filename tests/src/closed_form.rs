//! Answers known without a grid: what the solver must reproduce.
//!
//! Each submodule is one family of cells with its source. Densities are magnitudes in A/m²,
//! lengths in m, conductivity in S/m, resistances per depth in Ω·m unless said otherwise.
pub mod corners;
pub mod cylinders;
pub mod disk;
pub mod elliptic;
pub mod linear_system;
pub mod plates;
pub mod polarized_cylinders;
pub mod polarized_strip;
pub mod rod;
pub mod spheres;
pub mod strips;
