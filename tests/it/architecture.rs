//! The shape of the project as a failing test: edges, boundaries, sizes, headers.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Command;

use winze_tests::workspace_root;

/// The only edges allowed between the packages of the workspace.
const EDGES: &[(&str, &str)] = &[
    ("winze-core", "winze-sync-format"),
    ("winze-app-ui", "winze-core"),
    ("winze-app-ui", "winze-sync-format"),
    ("winze-power", "winze-core"),
    ("winze-power", "winze-sync-format"),
    ("winze-tests", "winze-app-ui"),
    ("winze-tests", "winze-core"),
    ("winze-tests", "winze-sync-format"),
];

/// What may stand at the top of the tree; hidden files and the build folder aside.
const TOP_LEVEL: &[&str] = &[
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE-APACHE",
    "LICENSE-MIT",
    "README.md",
    "app-ui",
    "core",
    "rustfmt.toml",
    "sync-format",
    "tests",
];

const RUST_LINES_MAX: usize = 500;
const MARKUP_LINES_MAX: usize = 200;

/// Files that may be longer, each with the reason.
const LONG_FILES: &[(&str, &str)] = &[];

fn collect(folder: &Path, extension: &str, found: &mut Vec<PathBuf>) {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return;
    };
    for entry in entries.flatten() {
        let path = entry.path();
        if path.is_dir() {
            if path
                .file_name()
                .is_some_and(|name| name != "target" && name != ".git")
            {
                collect(&path, extension, found);
            }
        } else if path.extension().is_some_and(|found| found == extension) {
            found.push(path);
        }
    }
}

fn files(extension: &str) -> Vec<(String, String)> {
    let root = workspace_root();
    let mut paths = Vec::new();
    collect(&root, extension, &mut paths);
    paths.sort();
    assert!(
        !paths.is_empty(),
        "no .{extension} file found below the workspace"
    );
    paths
        .into_iter()
        .map(|path| {
            let name = path
                .strip_prefix(&root)
                .expect("below the root")
                .display()
                .to_string();
            let text = std::fs::read_to_string(&path).expect("source files are readable text");
            (name, text)
        })
        .collect()
}

#[test]
fn workspace_edges_are_exactly_the_agreed_ones() {
    let output = Command::new(env!("CARGO"))
        .args([
            "metadata",
            "--no-deps",
            "--format-version",
            "1",
            "--offline",
        ])
        .current_dir(workspace_root())
        .output()
        .expect("cargo runs");
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let metadata: serde_json::Value =
        serde_json::from_slice(&output.stdout).expect("cargo prints JSON");
    let mut found = BTreeSet::new();
    for package in metadata["packages"].as_array().expect("packages") {
        let from = package["name"].as_str().expect("a name").to_owned();
        for dependency in package["dependencies"].as_array().expect("dependencies") {
            let to = dependency["name"].as_str().expect("a name");
            if to.starts_with("winze") {
                found.insert((from.clone(), to.to_owned()));
            }
        }
    }
    let agreed: BTreeSet<_> = EDGES
        .iter()
        .map(|(from, to)| ((*from).to_owned(), (*to).to_owned()))
        .collect();
    assert_eq!(found, agreed);
}

#[test]
fn top_level_holds_only_the_agreed_names() {
    let mut found: Vec<String> = std::fs::read_dir(workspace_root())
        .expect("the workspace is readable")
        .flatten()
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .filter(|name| !name.starts_with('.') && name != "target")
        .collect();
    found.sort();
    assert_eq!(found, TOP_LEVEL);
}

#[test]
fn every_source_file_says_what_it_is_for() {
    for (name, text) in files("rs") {
        assert!(
            text.starts_with("//!"),
            "{name} does not open with a //! header"
        );
    }
}

#[test]
fn no_file_grows_without_a_reason() {
    for (extension, most) in [("rs", RUST_LINES_MAX), ("slint", MARKUP_LINES_MAX)] {
        for (name, text) in files(extension) {
            let lines = text.lines().count();
            let listed = LONG_FILES.iter().any(|(long, _)| *long == name);
            assert!(
                lines <= most || listed,
                "{name} has {lines} lines, {most} are allowed"
            );
            assert!(
                !listed || lines > most,
                "{name} is short again: take it off the list"
            );
        }
    }
}

#[test]
fn slint_is_known_only_to_the_bindings() {
    let mut seen = 0;
    for (name, text) in files("rs") {
        let may = name.starts_with("app-ui/src/bindings/")
            || [
                "app-ui/src/lib.rs",
                "app-ui/src/pictures.rs",
                "app-ui/build.rs",
            ]
            .contains(&name.as_str())
            || name.starts_with("tests/");
        let knows = text.contains("slint::") || text.contains("crate::markup");
        seen += usize::from(knows && !name.starts_with("tests/"));
        assert!(may || !knows, "{name} uses Slint outside the bindings");
    }
    assert!(
        seen > 0,
        "the search found no use of Slint at all, so it proves nothing"
    );
}

#[test]
fn the_database_is_known_only_to_the_store() {
    let mut seen = 0;
    for (name, text) in files("rs") {
        let may = ["core/src/store/", "core/benches/", "tests/"]
            .iter()
            .any(|folder| name.starts_with(folder));
        let knows = text.contains("rusqlite");
        seen += usize::from(knows && !name.starts_with("tests/"));
        assert!(
            may || !knows,
            "{name} uses the database outside core/src/store"
        );
    }
    assert!(
        seen > 0,
        "the search found no use of the database at all, so it proves nothing"
    );
}

#[test]
fn no_story_is_forgotten() {
    let main = std::fs::read_to_string(workspace_root().join("tests/it/main.rs")).expect("main.rs");
    for entry in std::fs::read_dir(workspace_root().join("tests/it"))
        .expect("it")
        .flatten()
    {
        let name = entry.file_name().to_string_lossy().into_owned();
        let module = name.trim_end_matches(".rs");
        if module != "main" {
            assert!(
                main.lines()
                    .any(|line| line.trim() == format!("mod {module};")),
                "tests/it/{name} is not declared in main.rs"
            );
        }
    }
}
