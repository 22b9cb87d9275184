//! What each ferment is doing: pure, given `now`.
