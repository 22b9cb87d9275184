//! Shell verbs and reports.
