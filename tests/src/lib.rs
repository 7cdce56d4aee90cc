//! What the solver is checked against: closed forms, and body-fitted reference answers.
pub mod closed_form;
