//! The program as a user meets it: arguments, exit codes, output files, and what happens when something is wrong.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use std::fs;
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};

fn program() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tripproof"));
    command.current_dir(env!("CARGO_MANIFEST_DIR")).env_remove("NO_COLOR");
    command
}

fn run(arguments: &[&str]) -> Output {
    program().args(arguments).output().unwrap()
}

fn code(output: &Output) -> i32 {
    output.status.code().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// A folder of its own for each test, emptied first.
fn folder(name: &str) -> PathBuf {
    let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&path);
    fs::create_dir_all(&path).unwrap();
    path
}

#[test]
fn the_exit_code_is_0_for_nothing_open_1_for_findings_2_for_a_bad_model() {
    assert_eq!(code(&run(&["check", "models/first-guard.yaml"])), 0);
    assert_eq!(code(&run(&["check", "models/first-guard-flawed.yaml"])), 1);
    let bad = folder("bad").join("bad.yaml");
    fs::write(&bad, "language: 1\nsytem: {}\n").unwrap();
    let output = run(&["check", bad.to_str().unwrap()]);
    assert_eq!(code(&output), 2);
    let all = text(&output.stdout) + &text(&output.stderr);
    assert!(
        all.contains("sytem") && all.contains("`system`") && all.contains("nothing was examined"),
        "{all}"
    );
}

#[test]
fn the_worst_of_several_models_decides_and_all_are_reported() {
    let output =
        run(&["check", "models/first-guard.yaml", "models/first-guard-flawed.yaml", "models/none.yaml"]);
    assert_eq!(code(&output), 2);
    let all = text(&output.stdout) + &text(&output.stderr);
    for part in ["first-guard.yaml", "first-guard-flawed.yaml", "models/none.yaml"] {
        assert!(all.contains(part), "{part} in\n{all}");
    }
}

#[test]
fn the_digest_is_that_of_the_file_even_with_a_byte_order_mark() {
    use sha2::{Digest, Sha256};
    let model = folder("mark").join("model.yaml");
    let mut bytes = b"\xEF\xBB\xBF".to_vec();
    bytes.extend(fs::read(concat!(env!("CARGO_MANIFEST_DIR"), "/models/first-guard.yaml")).unwrap());
    fs::write(&model, &bytes).unwrap();
    let output = run(&["check", model.to_str().unwrap(), "--format", "json"]);
    let report: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let digest: String = Sha256::digest(&bytes).iter().map(|byte| format!("{byte:02x}")).collect();
    assert_eq!(report["models"][0]["sha256"], digest.as_str());
}

#[test]
fn wrong_usage_is_2_and_shows_the_way() {
    for arguments in
        [&["chekc"][..], &["check"], &["check", "--format", "pdf", "models/burner.yaml"], &["check", "--no"]]
    {
        let output = run(arguments);
        assert_eq!(code(&output), 2, "{arguments:?}");
        assert!(!text(&output.stderr).is_empty() && output.stdout.is_empty(), "{arguments:?}");
    }
}

#[test]
fn files_that_are_none_get_a_message() {
    let folder = folder("none");
    let latin = folder.join("latin.yaml");
    fs::write(&latin, b"title: \xfcber\n").unwrap();
    for file in ["models", "models/none.yaml", latin.to_str().unwrap()] {
        let output = run(&["check", file]);
        assert_eq!(code(&output), 2, "{file}");
        assert!((text(&output.stdout) + &text(&output.stderr)).contains(file), "{file}");
    }
}

#[test]
fn a_file_of_200_megabytes_is_refused_by_its_size() {
    let path = folder("big").join("big.yaml");
    fs::File::create(&path).unwrap().set_len(200 << 20).unwrap();
    let output = run(&["check", path.to_str().unwrap()]);
    assert_eq!(code(&output), 2);
    let all = text(&output.stdout) + &text(&output.stderr);
    assert!(all.contains("big.yaml") && !all.contains("panicked"), "{all}");
}

#[test]
fn output_is_written_whole_or_not_at_all() {
    let folder = folder("output");
    let file = folder.join("report.json");
    let path = file.to_str().unwrap();
    let output = run(&["check", "models/burner.yaml", "--format", "json", "--output", path]);
    assert_eq!(code(&output), 0);
    let report: serde_json::Value = serde_json::from_str(&fs::read_to_string(&file).unwrap()).unwrap();
    assert_eq!(report["version"], 1);
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 1, "nothing temporary is left");

    let missing = folder.join("no/such/report.txt");
    let output = run(&["check", "models/burner.yaml", "--output", missing.to_str().unwrap()]);
    assert_eq!(code(&output), 2);
    assert!(text(&output.stderr).contains("report.txt"));

    let model = folder.join("model.yaml");
    fs::copy("models/burner.yaml", &model).unwrap();
    let before = fs::read_to_string(&model).unwrap();
    let output = run(&["check", model.to_str().unwrap(), "--output", model.to_str().unwrap()]);
    assert_eq!(code(&output), 2, "a model is never overwritten by its report");
    assert_eq!(fs::read_to_string(&model).unwrap(), before);
}

#[test]
fn the_markdown_report_goes_where_it_is_wanted_and_has_no_colour() {
    let file = folder("markdown").join("review.md");
    let arguments = ["check", "--format", "markdown", "--color", "always", "models/first-guard-flawed.yaml"];
    let printed = run(&arguments);
    assert_eq!(code(&printed), 1);
    let page = text(&printed.stdout);
    assert!(page.starts_with("# Report of findings on the interlock logic: ") && !page.contains('\u{1b}'));
    let written = run(&[&arguments[..], &["--output", file.to_str().unwrap()]].concat());
    assert_eq!(code(&written), 1);
    assert!(written.stdout.is_empty() && text(&written.stderr).contains("review.md"));
    assert_eq!(fs::read_to_string(&file).unwrap(), page);
}

#[test]
fn explain_prints_a_page_and_helps_with_a_slip() {
    let output = run(&["explain", "too-few-disjoint-paths"]);
    assert_eq!(code(&output), 0);
    assert!(text(&output.stdout).contains("How it is decided"));
    let output = run(&["explain", "too-few-paths"]);
    assert_eq!(code(&output), 2);
    assert!(text(&output.stderr).contains("too-few-disjoint-paths"));
}

#[test]
fn the_schemas_are_json_and_say_what_they_are_for() {
    for arguments in [&["schema"][..], &["schema", "--report"]] {
        let output = run(arguments);
        assert_eq!(code(&output), 0);
        let schema: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        assert!(schema["properties"].is_object() && schema["title"].is_string(), "{arguments:?}");
    }
}

#[test]
fn every_shipped_model_keeps_to_the_schema_of_the_language() {
    let output = run(&["schema"]);
    let schema: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let sections = schema["properties"].as_object().unwrap();
    for entry in fs::read_dir("models").unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|e| e != "yaml") {
            continue;
        }
        let text = fs::read_to_string(&path).unwrap();
        assert!(
            text.starts_with("# yaml-language-server: $schema=../docs/schema/model.schema.json\n"),
            "{path:?}"
        );
        for line in text.lines().filter(|line| line.ends_with(':') && !line.starts_with([' ', '#'])) {
            assert!(sections.contains_key(line.trim_end_matches(':')), "{path:?}: {line}");
        }
    }
}

#[test]
fn a_reader_that_goes_away_is_no_panic() {
    let mut child = program()
        .args(["check", "models/burner-flawed.yaml"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert!(!text(&output.stderr).contains("panicked"));
}

#[test]
fn no_colour_unless_there_is_a_terminal_or_it_is_asked_for() {
    let plain = run(&["check", "models/first-guard-flawed.yaml"]);
    assert!(!text(&plain.stdout).contains('\u{1b}'));
    let coloured = run(&["check", "--color", "always", "models/first-guard-flawed.yaml"]);
    assert!(text(&coloured.stdout).contains('\u{1b}'));
}

#[test]
fn the_readme_shows_what_the_program_prints() {
    let readme = fs::read_to_string("README.md").unwrap();
    let block = readme.split("```text\n").nth(1).unwrap().split("```").next().unwrap();
    let output = text(&run(&["check", "models/drying-cell-flawed.yaml"]).stdout);
    for part in block.split("\n[…]\n") {
        assert!(output.contains(part.trim_end()), "not printed any more:\n{part}");
    }
}

/// The YAML blocks of a page.
fn blocks(page: &str) -> Vec<&str> {
    page.split("```yaml\n").skip(1).map(|rest| rest.split("```").next().unwrap()).collect()
}

/// A model into whose sections the lines of fragments are put.
fn put_into(host: &str, fragments: &[&str]) -> String {
    let mut model = host.to_string();
    for fragment in fragments {
        let mut section = String::new();
        for line in fragment.lines().rev() {
            section.insert_str(0, &format!("{line}\n"));
            if !line.starts_with(' ') {
                let head = format!("\n{line}\n");
                assert!(model.contains(&head), "the host has no section {line}");
                model = model.replacen(&head, &format!("\n{section}"), 1);
                section.clear();
            }
        }
    }
    model
}

#[test]
fn the_recipes_of_the_tutorial_are_read() {
    let tutorial = fs::read_to_string("docs/tutorial.md").unwrap();
    let recipes = blocks(tutorial.split_once("\n## 9. Recipes\n").unwrap().1);
    assert_eq!(recipes.len(), 4);
    let model = put_into(&fs::read_to_string("tests/recipes/host.yaml").unwrap(), &recipes);
    let source = tripproof::source::Source::new("recipes.yaml", model);
    let model = tripproof::load::load(&source).unwrap_or_else(|problems| panic!("{problems:#?}"));
    assert!(model.element_by_tag("24V-UPS").is_some() && model.element_by_tag("DL-1").is_some());
    assert_eq!(model.hazards.len(), 1);
}

#[test]
fn the_tutorial_builds_the_shipped_model() {
    let tutorial = fs::read_to_string("docs/tutorial.md").unwrap();
    let (lesson, _) = tutorial.split_once("\n## 9. Recipes\n").unwrap();
    let path = folder("tutorial").join("guard.yaml");
    fs::write(&path, blocks(lesson).concat()).unwrap();
    let output = run(&["check", "--format", "json", path.to_str().unwrap()]);
    assert_eq!(code(&output), 0, "{}", text(&output.stdout));
    let built: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let shipped = run(&["check", "--format", "json", "models/first-guard.yaml"]);
    let shipped: serde_json::Value = serde_json::from_slice(&shipped.stdout).unwrap();
    assert_eq!(built["models"][0]["table"], shipped["models"][0]["table"]);
    assert_eq!(built["models"][0]["counts"], shipped["models"][0]["counts"]);
}

#[test]
fn a_day_on_the_command_line_judges_expiries_and_a_bad_one_shows_the_way() {
    let model = "models/pressure-tank.yaml";
    assert_eq!(code(&run(&["check", "--date", "2027-06-30", model])), 0);
    let late = run(&["check", "--date", "2027-07-01", model]);
    assert_eq!(code(&late), 1);
    assert!(text(&late.stdout).contains("assumption-expired"));
    for day in ["2027-02-29", "30.6.2027", ""] {
        let output = run(&["check", "--date", day, model]);
        assert_eq!(code(&output), 2, "{day}");
        assert!(text(&output.stderr).contains("`2027-03-31`") && output.stdout.is_empty(), "{day}");
    }
}
