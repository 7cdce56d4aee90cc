//! From cells to equations: shape functions, boundary terms, stabilisation, sparse matrix.

pub(crate) mod assemble;
pub(crate) mod basis;
pub(crate) mod boundary;
mod elements;
pub(crate) mod ghost;
pub(crate) mod joint;
pub(crate) mod linear;
pub(crate) mod map;
pub(crate) mod multigrid;
pub(crate) mod numbering;
