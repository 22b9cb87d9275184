//! The engine held to what it reached: diaries with known truth, published
//! ferments, hostile series, and small stories of trouble.

mod asked;
mod dense;
mod diaries;
mod hostile;
mod marks;
mod score;
mod signs;
mod stories;
mod waking;
mod words;
