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

#[test]
fn every_verb_has_a_help_of_its_own() {
    let home = Home::empty();
    let help = home.out("--help");
    let (_, rest) = help.split_once("Commands:").unwrap();
    let (verbs, _) = rest.split_once("Options:").unwrap();
    let verbs: Vec<&str> = verbs
        .lines()
        .filter_map(|l| l.split_whitespace().next())
        .collect();
    assert!(verbs.len() > 15, "{verbs:?}");
    for verb in verbs {
        let help = home.out(&format!("{verb} --help"));
        assert!(help.contains("Usage: skep"), "{verb}");
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
        .stdout(contains("a ferment is stuck"));
    home.command()
        .args(["man", "--into"])
        .arg(home.path("man"))
        .assert()
        .success();
    let pages: Vec<String> = std::fs::read_dir(home.path("man"))
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect();
    assert!(pages.contains(&"skep-read.1".to_owned()), "{pages:?}");
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
