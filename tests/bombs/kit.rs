//! A household for one case, its drinks, and a table of cases run to its end.

use crate::clock;
use assert_cmd::Command;
use std::process::Output;
use tempfile::TempDir;

/// Exit code of a hold.
const HELD: i32 = 7;
/// Exit code of what is refused outright.
const REFUSED: i32 = 2;

/// What a case should come to.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Outcome {
    /// The last line is held; what is printed holds all of these words.
    Held(&'static [&'static str]),
    /// The last line is refused as it stands, with these words.
    Refused(&'static [&'static str]),
    /// Nothing holds it.
    Fine,
    /// It goes through and prints all of these words.
    Says(&'static [&'static str]),
}

/// One filling or dose, told line by line.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Case {
    /// What goes wrong, or right.
    pub(crate) name: &'static str,
    /// What lies in the vessels before.
    pub(crate) drink: Drink,
    /// Lines of words for skep, each of which must succeed.
    pub(crate) before: &'static [&'static str],
    /// The line that matters.
    pub(crate) line: &'static str,
    /// What comes of it.
    pub(crate) outcome: Outcome,
}

/// What lies in the vessels at the start of a case; all of it invented.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Drink {
    /// Vessels only.
    None,
    /// 4.5 gal of mead in C1 (6 gal), 1.100 to 0.997, steady to three days ago.
    DryMead,
    /// 0.9 gal of mead in J2 (1 gal), 1.122 to 1.020, steady for six weeks.
    SweetMead,
    /// 0.9 gal of mead in J2, 1.120 to 1.010, stabilised three weeks ago and not read since.
    SweetAndSafe,
    /// 0.9 gal of mead in J2, 1.100 to 1.001 by four equal readings.
    NearlyDryMead,
    /// 0.9 gal of mead in J2, 1.100 to 1.060 on its fourth day.
    ActiveMead,
    /// 0.9 gal of cider in J2, 1.050 to 0.999: 6.7 % vol, steady.
    Cider,
    /// 4.5 gal of ale in C1, 1.050 to 1.013, steady.
    Ale,
}

impl Drink {
    fn lines(self) -> &'static [&'static str] {
        match self {
            Self::None => &[],
            Self::DryMead => &[
                "start C1 five-gallon-mead --name clover --volume 4.5gal --og 1.100 --at -90d",
                "read C1 1.100 68f -90d --anyway",
                "read C1 1.030 68f -75d --anyway",
                "read C1 0.999 68f -45d --anyway",
                "read C1 0.997 68f -24d --anyway",
                "read C1 0.997 68f -14d --anyway",
                "read C1 0.997 68f -3d --anyway",
            ],
            Self::SweetMead => &[
                "start J2 one-gallon-traditional-mead --name heather --volume 0.9gal --og 1.122 --at -120d",
                "read J2 1.122 68f -120d --anyway",
                "read J2 1.060 68f -100d --anyway",
                "read J2 1.024 68f -70d --anyway",
                "read J2 1.020 68f -50d --anyway",
                "read J2 1.020 68f -43d --anyway",
            ],
            Self::SweetAndSafe => &[
                "start J2 one-gallon-traditional-mead --name heather --volume 0.9gal --og 1.120 --at -90d",
                "read J2 1.120 68f -90d --anyway",
                "read J2 1.050 68f -70d --anyway",
                "read J2 1.010 68f -40d --anyway",
                "read J2 1.010 68f -30d --anyway",
                "stabilise J2 --ph 3.4 --at -21d",
            ],
            Self::NearlyDryMead => &[
                "start J2 one-gallon-traditional-mead --name heather --volume 0.9gal --og 1.100 --at -90d",
                "read J2 1.100 68f -90d --anyway",
                "read J2 1.030 68f -75d --anyway",
                "read J2 1.001 68f -24d --anyway",
                "read J2 1.001 68f -16d --anyway",
                "read J2 1.001 68f -9d --anyway",
                "read J2 1.001 68f -1d --anyway",
            ],
            Self::ActiveMead => &[
                "start J2 one-gallon-traditional-mead --name heather --volume 0.9gal --og 1.100 --at -4d",
                "read J2 1.100 68f -4d --anyway",
                "read J2 1.085 68f -2d --anyway",
                "read J2 1.060 68f -5h --anyway",
            ],
            Self::Cider => &[
                "start J2 cider --name russet --volume 0.9gal --og 1.050 --at -60d",
                "read J2 1.050 68f -60d --anyway",
                "read J2 1.010 68f -45d --anyway",
                "read J2 0.999 68f -24d --anyway",
                "read J2 0.999 68f -14d --anyway",
                "read J2 0.999 68f -3d --anyway",
            ],
            Self::Ale => &[
                "start C1 ale --name pale --volume 4.5gal --og 1.050 --fg 1.013 --at -28d",
                "read C1 1.050 68f -28d --anyway",
                "read C1 1.020 68f -24d --anyway",
                "read C1 1.013 68f -14d --anyway",
                "read C1 1.013 68f -8d --anyway",
                "read C1 1.013 68f -1d --anyway",
            ],
        }
    }
}

/// A household of its own, with one clock and one zone.
pub(crate) struct Household {
    folder: TempDir,
}

impl Household {
    /// A closet at 68 °F with the jugs J1 and J2 and the carboys C1 and C2.
    pub(crate) fn new() -> Self {
        let home = Self {
            folder: tempfile::tempdir().unwrap(),
        };
        for line in [
            "places add closet --usual 68f",
            "vessels add J1 jug 1gal",
            "vessels add J2 jug 1gal",
            "vessels add C1 carboy 6gal",
            "vessels add C2 carboy 6gal",
        ] {
            home.must(line);
        }
        home
    }

    /// Runs a line of words parted by blanks; 'quoted words' are one.
    pub(crate) fn run(&self, line: &str) -> Output {
        let mut command = std::process::Command::new(assert_cmd::cargo::cargo_bin!("skep"));
        command
            .env_clear()
            .envs(clock::environment())
            .env("HOME", self.folder.path())
            .env("SKEP_STORE", self.folder.path().join("home.store"))
            .current_dir(self.folder.path())
            .args(words(line));
        Command::from_std(command).output().unwrap()
    }

    /// Runs a line that must succeed.
    pub(crate) fn must(&self, line: &str) -> String {
        let out = self.run(line);
        assert!(out.status.success(), "skep {line}\n{}", printed(&out));
        printed(&out)
    }

    /// Puts a file into the household's home.
    pub(crate) fn write(&self, path: &str, text: &str) {
        let path = self.folder.path().join(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }

    /// What a line prints, whatever its exit code.
    pub(crate) fn says(&self, line: &str) -> String {
        printed(&self.run(line))
    }

    /// What a line prints as JSON, whatever its exit code.
    pub(crate) fn json(&self, line: &str) -> serde_json::Value {
        let out = self.run(&format!("{line} --json"));
        serde_json::from_slice(&out.stdout).unwrap_or_else(|e| panic!("{e}\n{}", printed(&out)))
    }

    /// A household with this drink in it.
    pub(crate) fn with(drink: Drink) -> Self {
        let home = Self::new();
        for line in drink.lines() {
            home.must(line);
        }
        home
    }
}

/// Everything that a run printed.
pub(crate) fn printed(out: &Output) -> String {
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    format!("{}{}", text(&out.stdout), text(&out.stderr))
}

fn words(line: &str) -> Vec<String> {
    let mut all = Vec::new();
    for (n, part) in line.split('\'').enumerate() {
        if n % 2 == 1 {
            all.push(part.to_owned());
        } else {
            all.extend(part.split_whitespace().map(str::to_owned));
        }
    }
    all
}

/// Runs every case, each in a household of its own, and says of all of them at
/// once which did not come out.
pub(crate) fn run(cases: &[Case]) {
    let wrong: Vec<String> = cases.iter().filter_map(wrong).collect();
    assert!(
        wrong.is_empty(),
        "{} of {} cases\n\n{}",
        wrong.len(),
        cases.len(),
        wrong.join("\n\n")
    );
}

fn wrong(case: &Case) -> Option<String> {
    let home = Household::with(case.drink);
    for line in case.before {
        let out = home.run(line);
        if !out.status.success() {
            return Some(format!("{}: skep {line}\n{}", case.name, printed(&out)));
        }
    }
    let out = home.run(case.line);
    let (code, said) = (out.status.code(), printed(&out));
    let all = |wanted: &[&str]| wanted.iter().all(|w| said.contains(w));
    let right = match case.outcome {
        Outcome::Held(words) => code == Some(HELD) && all(words),
        Outcome::Refused(words) => code == Some(REFUSED) && all(words),
        Outcome::Fine => code == Some(0),
        Outcome::Says(words) => code == Some(0) && all(words),
    };
    (!right).then(|| {
        format!(
            "{}: skep {} gave {code:?}, wanted {:?}\n{said}",
            case.name, case.line, case.outcome
        )
    })
}
