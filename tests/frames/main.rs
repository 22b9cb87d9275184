//! Whole screens of a small invented household, as text and styles.

mod hands;
mod kit;
mod planning;
mod screens;
