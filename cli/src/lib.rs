//! placeholder
pub mod output;
