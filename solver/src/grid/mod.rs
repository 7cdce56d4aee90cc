//! From boundaries to cells: lattice, clipping, quadtree.

pub(crate) mod clip;
pub(crate) mod fit;
pub(crate) mod lattice;
pub(crate) mod mesh;
pub(crate) mod size;
pub(crate) mod tree;
