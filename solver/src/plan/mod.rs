//! Many layouts instead of one: what the planner compares, and the search for the best.
pub mod cmaes;
