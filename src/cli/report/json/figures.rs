//! Sums of the trade.

use crate::domain::sums::figures::{Figure, FigureSpec, System};
use serde::Serialize;

#[derive(Debug, Serialize)]
pub(crate) struct FiguresJson {
    pub(crate) figures: Vec<FigureListJson>,
}

#[derive(Debug, Serialize)]
pub(crate) struct FigureListJson {
    id: &'static str,
    title: &'static str,
    group: &'static str,
    about: &'static str,
    inputs: Vec<InputJson>,
}

#[derive(Debug, Serialize)]
struct InputJson {
    name: &'static str,
    accepted: String,
    default: Option<&'static str>,
    optional: bool,
    help: &'static str,
}

impl FigureListJson {
    pub(crate) fn new(spec: &FigureSpec) -> Self {
        Self {
            id: spec.id,
            title: spec.title,
            group: spec.group.title(),
            about: spec.about,
            inputs: spec
                .inputs
                .iter()
                .map(|i| InputJson {
                    name: i.name,
                    accepted: i.kind.accepted(),
                    default: i.default,
                    optional: i.optional,
                    help: i.help,
                })
                .collect(),
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct FigureJson {
    id: &'static str,
    title: &'static str,
    lines: Vec<FigureLineJson>,
    notes: Vec<String>,
    why: WhyJson,
}

#[derive(Debug, Serialize)]
struct FigureLineJson {
    label: String,
    value: Option<f64>,
    plus_minus: Option<f64>,
    said: String,
}

#[derive(Debug, Serialize)]
struct WhyJson {
    inputs: Vec<(String, String)>,
    formula: &'static str,
    range: &'static str,
    source: Vec<&'static str>,
}

impl FigureJson {
    pub(crate) fn new(spec: &FigureSpec, answer: &Figure, system: System) -> Self {
        Self {
            id: spec.id,
            title: spec.title,
            lines: answer
                .lines
                .iter()
                .map(|line| FigureLineJson {
                    label: line.label.clone(),
                    value: line.value(),
                    plus_minus: line.plus_minus,
                    said: line.text(system),
                })
                .collect(),
            notes: answer.notes.clone(),
            why: WhyJson {
                inputs: answer.why.inputs.clone(),
                formula: answer.why.formula,
                range: answer.why.range,
                source: answer.why.source.clone(),
            },
        }
    }
}
