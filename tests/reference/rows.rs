//! Reads the rows of the CSV files in this folder.

use std::path::Path;

/// What a row is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Worth {
    /// From outside: read, or by a library that shares no equation with skep.
    Evidence,
    /// From an equation that skep uses too: catches a typing slip only.
    Slip,
    /// From memory or trade practice.
    Hint,
}

/// One row.
#[derive(Debug, Clone)]
pub(crate) struct Row {
    pub(crate) id: String,
    pub(crate) quantity: String,
    pub(crate) inputs: Vec<(String, f64, String)>,
    pub(crate) word: String,
    pub(crate) expected: f64,
    pub(crate) unit: String,
    pub(crate) tolerance: f64,
    pub(crate) source: String,
    pub(crate) how: String,
    pub(crate) second: Option<(String, f64)>,
    pub(crate) note: String,
}

impl Row {
    pub(crate) fn worth(&self) -> Worth {
        // CARROLL91 is a correlation that skep does not use; PYCO2SYS has the
        // same as skep. ROGERSON is a regression over 35 port wines.
        const LIBRARIES: [&str; 7] = [
            "IAPWS95",
            "COOLPROP",
            "CARROLL91",
            "ROGERSON",
            "CHEMICALS",
            "MW",
            "SCIPY",
        ];
        match self.how.as_str() {
            // skep keeps this very table.
            "read" if self.source == "OIV-SO2" => Worth::Slip,
            "read" | "quoted" => Worth::Evidence,
            "computed" if LIBRARIES.contains(&self.source.as_str()) => Worth::Evidence,
            "computed" => Worth::Slip,
            "memory" | "practice" => Worth::Hint,
            other => panic!("{}: how '{other}' is unknown", self.id),
        }
    }

    /// The input of this name.
    pub(crate) fn input(&self, name: &str) -> f64 {
        self.inputs
            .iter()
            .find(|(n, _, _)| n == name)
            .unwrap_or_else(|| panic!("{} has no input {name}", self.id))
            .1
    }
}

/// All rows of one file.
pub(crate) fn read(file: &str) -> Vec<Row> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/reference")
        .join(file);
    let mut reader = csv::Reader::from_path(&path).unwrap();
    let rows: Vec<Row> = reader.records().map(|r| row(&r.unwrap())).collect();
    assert!(!rows.is_empty(), "{file} is empty");
    rows
}

fn row(r: &csv::StringRecord) -> Row {
    let number = |i: usize| -> f64 {
        r[i].parse()
            .unwrap_or_else(|_| panic!("{}: '{}' is no number", &r[0], &r[i]))
    };
    let mut inputs = Vec::new();
    let mut word = String::new();
    for i in [2, 5, 8] {
        if r[i].is_empty() {
            continue;
        }
        match r[i + 1].parse() {
            Ok(value) => inputs.push((r[i].to_owned(), value, r[i + 2].to_owned())),
            Err(_) => r[i + 1].clone_into(&mut word),
        }
    }

    Row {
        id: r[0].to_owned(),
        quantity: r[1].to_owned(),
        inputs,
        word,
        expected: number(11),
        unit: r[12].to_owned(),
        tolerance: number(13),
        source: r[14].to_owned(),
        how: r[15].to_owned(),
        second: r[17].parse().ok().map(|v| (r[16].to_owned(), v)),
        note: r[19].to_owned(),
    }
}
