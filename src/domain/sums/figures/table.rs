use super::{FigureSpec, cellar, gas, gravity, must, stabilise};

/// Every figure of the bench, in the order of its groups.
pub static FIGURES: &[FigureSpec] = &[
    gravity::SCALES_OF_GRAVITY,
    gravity::HYDROMETER,
    gravity::OFFSET,
    gravity::REFRACTOMETER,
    gravity::HONEY_WATER,
    gravity::MASS_LOSS,
    gravity::ALCOHOL,
    gravity::SHARE,
    gravity::FINISH,
    gravity::ETHANOL,
    must::MUST,
    must::FRUIT,
    must::NITROGEN,
    stabilise::WATER,
    gas::RESIDUAL,
    gas::PRIME,
    gas::BOTTLE,
    gas::UNFINISHED,
    gas::KEG,
    stabilise::MOLECULAR,
    stabilise::SULFITE,
    stabilise::SORBATE,
    stabilise::SWEETEN,
    stabilise::ACID,
    stabilise::RESTATE,
    stabilise::TRIAL,
    cellar::BLEND,
    cellar::THIN,
    cellar::SERVING,
    cellar::BOTTLES,
    cellar::SANITISER,
    cellar::STRENGTH,
    cellar::CONVERT,
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::sums::figures::{Group, System, find, read};

    #[test]
    fn ids_and_names_are_unique_and_groups_stand_together() {
        let mut groups = Vec::new();
        for (n, f) in FIGURES.iter().enumerate() {
            assert!(FIGURES[n + 1..].iter().all(|o| o.id != f.id), "{}", f.id);
            for (m, i) in f.inputs.iter().enumerate() {
                assert!(
                    f.inputs[m + 1..].iter().all(|o| o.name != i.name),
                    "{}",
                    f.id
                );
                assert!(!i.help.is_empty() && !i.label.is_empty());
            }
            assert!(f.about.ends_with('.') && !f.source.is_empty(), "{}", f.id);
            if groups.last() != Some(&f.group) {
                groups.push(f.group);
            }
        }
        assert_eq!(groups, Group::ALL);
    }

    #[test]
    fn every_default_can_be_read() {
        for f in FIGURES {
            for i in f.inputs {
                if let Some(text) = i.default {
                    read::read(i.kind, text).unwrap_or_else(|e| panic!("{} {}: {e}", f.id, i.name));
                }
            }
        }
    }

    fn ask(id: &str, given: &[(&str, &str)]) -> String {
        let figure = find(id).unwrap().answer(given);
        match figure {
            Ok(f) => f
                .lines
                .iter()
                .map(|l| format!("{}: {}", l.label, l.text(System::Us)))
                .collect::<Vec<_>>()
                .join("\n"),
            Err(e) => format!("refused: {e}"),
        }
    }

    #[test]
    fn every_figure_answers() {
        let cases: &[(&str, &[(&str, &str)])] = &[
            ("gravity", &[("sg", "1.100")]),
            (
                "hydrometer",
                &[("read", "1.042"), ("temp", "77f"), ("og", "1.100")],
            ),
            (
                "offset",
                &[("read", "1.002"), ("temp", "60f"), ("scale", "60/60f")],
            ),
            ("refractometer", &[("brix", "12"), ("og", "1.100")]),
            ("refractometer", &[("brix", "9"), ("sg", "1.000")]),
            ("honey-water", &[("n", "1.4944")]),
            (
                "mass",
                &[("og", "1.1"), ("volume", "1gal"), ("lost", "200g")],
            ),
            ("alcohol", &[("og", "1.1"), ("sg", "1.0")]),
            ("share", &[("og", "1.105"), ("sg", "1.070")]),
            ("finish", &[("og", "1.12"), ("tolerance", "14")]),
            ("ethanol", &[("vol", "12")]),
            (
                "must",
                &[
                    ("parts", "? honey, ? water"),
                    ("og", "1.1"),
                    ("volume", "1gal"),
                    ("vessel", "1gal"),
                ],
            ),
            (
                "fruit",
                &[("og", "1.1"), ("volume", "1gal"), ("add", "1kg raspberry")],
            ),
            ("nitrogen", &[("og", "1.1"), ("volume", "1gal")]),
            ("chlorine", &[("volume", "5gal")]),
            ("residual", &[("warmest", "68f")]),
            (
                "prime",
                &[("volume", "1gal"), ("target", "2.5"), ("warmest", "68f")],
            ),
            (
                "bottle",
                &[
                    ("gas", "2.5"),
                    ("storage", "86f"),
                    ("rated", "volumes"),
                    ("volumes", "3"),
                ],
            ),
            (
                "unfinished",
                &[("og", "1.06"), ("sg", "1.004"), ("fg", "0.998")],
            ),
            ("keg", &[("target", "2.5"), ("temp", "38f")]),
            ("molecular", &[("ph", "3.4")]),
            ("sulfite", &[("volume", "1gal"), ("ph", "3.4")]),
            ("sorbate", &[("volume", "1gal")]),
            ("sweeten", &[("lot", "1gal 0.998 13%"), ("to", "1.012")]),
            ("acid", &[("volume", "1gal"), ("now", "4"), ("aim", "5.5")]),
            ("acid-as", &[("acidity", "6")]),
            (
                "trial",
                &[
                    ("sample", "100ml"),
                    ("added", "0.05g"),
                    ("before", "3"),
                    ("after", "3.3"),
                    ("aim", "3.3"),
                    ("volume", "1gal"),
                ],
            ),
            (
                "blend",
                &[
                    ("a", "4L 0.998 14% 5"),
                    ("b", "4L 1.03 10% 7"),
                    ("sg", "1.01"),
                ],
            ),
            ("thin", &[("lot", "4L 1.010 14%"), ("abv", "12")]),
            ("serving", &[("sg", "1.010"), ("abv", "12")]),
            ("bottles", &[("volume", "1gal")]),
            (
                "sanitiser",
                &[("volume", "1gal"), ("label", "0.5floz"), ("per", "2.5gal")],
            ),
            ("strength", &[("volume", "4L")]),
            ("convert", &[("amount", "5gal")]),
        ];
        let mut seen = Vec::new();
        for (id, given) in cases {
            let said = ask(id, given);
            assert!(!said.starts_with("refused"), "{id}: {said}");
            seen.push(*id);
        }
        for f in FIGURES {
            assert!(seen.contains(&f.id), "{} has no example", f.id);
        }
    }

    #[test]
    fn refusals_are_sentences() {
        assert_eq!(
            ask("alcohol", &[("og", "1.050"), ("sg", "1.060")]),
            "refused: the present gravity 1.0600 is above the original 1.0500: no alcohol follows from that"
        );
        assert_eq!(
            ask(
                "prime",
                &[("volume", "5"), ("target", "2.5"), ("warmest", "68f")]
            ),
            "refused: volume: '5' has no unit; accepted is 5gal, 12floz, 19L or 750ml"
        );
        assert_eq!(
            ask(
                "nitrogen",
                &[("og", "1.1"), ("volume", "1gal"), ("sg", "1.05")]
            ),
            "refused: too late for nutrient: 50 % of the sugar is gone, the last feeding is at a third"
        );
    }
}
