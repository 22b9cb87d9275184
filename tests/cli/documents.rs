use super::home::{Home, text};
use predicates::str::contains;
use skep::cli::EXITS;

#[test]
fn help_tells_verbs_examples_and_every_exit_code() {
    let home = Home::empty();
    let help = home.out("--help");
    for (exit, meaning) in EXITS {
        assert!(
            help.contains(&format!("{:>3}  {meaning}", exit.code())),
            "{meaning}"
        );
    }
    assert!(help.contains("skep read J2 42 68f"));
    assert!(help.lines().all(|l| l.chars().count() <= 90), "{help}");
}

/// The verbs, as the help lists them.
fn verbs(home: &Home) -> Vec<String> {
    let help = home.out("--help");
    let (_, rest) = help.split_once("Commands:").unwrap();
    let (verbs, _) = rest.split_once("Options:").unwrap();
    let word = |line: &str| line.split_whitespace().next().map(str::to_owned);
    let verbs: Vec<String> = verbs.lines().filter_map(word).collect();
    assert!(verbs.len() > 15, "{verbs:?}");
    verbs
}

#[test]
fn every_verb_has_a_help_of_its_own() {
    let home = Home::empty();
    for verb in verbs(&home) {
        let help = home.out(&format!("{verb} --help"));
        assert!(help.contains("Usage: skep"), "{verb}");
    }
}

#[test]
fn the_readme_has_an_example_of_every_verb_and_names_no_other() {
    let readme = include_str!("../../README.md");
    let verbs = verbs(&Home::empty());
    let named: Vec<&str> = readme
        .split('`')
        .skip(1)
        .step_by(2)
        .filter_map(|code| code.strip_prefix("skep "))
        .map(|rest| rest.trim_start_matches("--store new.store "))
        .filter_map(|rest| rest.split_whitespace().next())
        .filter(|word| !word.starts_with('-'))
        .collect();
    for verb in &verbs {
        assert!(named.contains(&verb.as_str()), "no example of {verb}");
    }
    for word in named {
        assert!(verbs.iter().any(|v| v == word), "no such verb: {word}");
    }
}

#[test]
fn completions_are_made_for_each_shell() {
    let home = Home::empty();
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        home.skep(&format!("completions {shell}"))
            .success()
            .stdout(contains("skep"));
    }
    home.skep("completions tcsh").code(2);
}

#[test]
fn the_manual_has_a_page_for_every_verb_with_the_exit_codes() {
    let home = Home::empty();
    home.skep("man")
        .success()
        .stdout(contains(".TH skep 1"))
        .stdout(contains("a ferment is stuck"))
        .stdout(contains("KEYS OF THE DASHBOARD"))
        .stdout(contains("can explode without warning"));
    home.command()
        .args(["man", "--into"])
        .arg(home.path("man"))
        .assert()
        .success();
    let pages: Vec<String> = std::fs::read_dir(home.path("man"))
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect();
    for verb in verbs(&home) {
        assert!(pages.contains(&format!("skep-{verb}.1")), "{pages:?}");
    }
    let same = std::fs::read_to_string(home.path("man/skep.1")).unwrap();
    assert_eq!(same, home.out("man"));
}

#[test]
fn the_version_is_the_packages() {
    let home = Home::empty();
    assert_eq!(
        home.out("--version"),
        format!("skep {}\n", env!("CARGO_PKG_VERSION"))
    );
}

#[test]
fn a_mistake_says_how_it_goes() {
    let home = Home::empty();
    let out = home.skep("dance").code(2).get_output().clone();
    assert!(text(&out.stderr).contains("unrecognized subcommand 'dance'"));
    assert!(out.stdout.is_empty());
}

#[test]
fn links_and_paths_in_the_documents_lead_somewhere() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut followed = 0;
    for document in [
        "README.md",
        "DEVELOPERS.md",
        "docs/data.md",
        "docs/engine.md",
        "docs/plans.md",
        "tests/engine/STUDY.md",
    ] {
        let text = std::fs::read_to_string(root.join(document)).unwrap();
        let folder = root.join(document).parent().unwrap().to_owned();
        let links = text.split("](").skip(1).filter_map(|s| s.split(')').next());
        let pictures = text.split("assets/").skip(1).filter_map(|s| {
            let end = s.find(|c: char| c.is_whitespace() || "\"'`),;".contains(c))?;
            s.get(..end)
        });
        let named = pictures.map(|p| root.join("assets").join(p.trim_end_matches('.')));
        let near = links
            .filter(|l| !l.contains("://") && !l.starts_with('#'))
            .map(|l| folder.join(l.split('#').next().unwrap_or(l)));
        for path in near.chain(named) {
            assert!(path.exists(), "{document}: {}", path.display());
            followed += 1;
        }
    }
    assert!(followed > 30, "only {followed}");
}
