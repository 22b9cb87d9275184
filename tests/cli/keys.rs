//! The maker's own keys: printed, changed by a file, and what is said of mistakes.

use super::home::Home;

fn config(home: &Home, text: &str) {
    let folder = home.path(".config/skep");
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(folder.join("keys.toml"), text).unwrap();
}

#[test]
fn the_keys_are_printed_in_the_form_that_changes_them() {
    let home = Home::empty();
    let usual = home.out("keys");
    assert!(usual.contains("\n[shelf]\n"), "{usual}");
    assert!(usual.contains("\"round\" = [\"r\"]"), "{usual}");
    // The printed file, taken as one's own, changes nothing and is not objected to.
    config(&home, &usual);
    assert_eq!(home.out("keys"), usual);
    config(&home, "[shelf]\nround = \"R\"\n");
    let own = home.out("keys");
    assert!(own.contains("\"round\" = [\"R\"]"), "{own}");
    assert!(!own.contains("Left out"), "{own}");
}

#[test]
fn a_mistake_is_said_in_a_sentence_and_the_rest_counts() {
    let home = Home::empty();
    config(&home, "[shelf]\nround = \"u\"\ndone = \"D\"\n");
    let said = home.out("keys");
    assert!(
        said.contains("keys.toml: [shelf] u would be both 'round' and 'undo'; 'round' keeps r"),
        "{said}"
    );
    assert!(said.contains("\"done\" = [\"D\"]"), "{said}");
    config(&home, "[shelf\n");
    let said = home.out("keys");
    assert!(said.contains("# Left out: "), "{said}");
    assert!(said.contains("keys.toml, line 1: "), "{said}");
}

#[test]
fn the_report_of_keys_is_in_the_schema() {
    let report = Home::empty().json("keys");
    let schema: serde_json::Value =
        serde_json::from_str(include_str!("../../assets/schema/report.schema.json")).unwrap();
    let wanted = &schema["$defs"]["keys"];
    for key in wanted["required"].as_array().unwrap() {
        assert!(report.get(key.as_str().unwrap()).is_some(), "{key}");
    }
    assert_eq!(report["report"], "keys");
    for key in report["keys"][0].as_object().unwrap().keys() {
        let known = &wanted["properties"]["keys"]["items"]["properties"];
        assert!(known.get(key).is_some(), "{key}");
    }
}
