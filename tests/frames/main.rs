//! Whole screens of a small invented household, as text and styles.

mod cellar;
mod hands;
mod kit;
mod planning;
mod screens;
