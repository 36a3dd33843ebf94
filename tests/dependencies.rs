//! What the crates depend on: every dependency is used, and its licence lets the program be given away as it is.

use cullet_tests::Checked;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Licences (SPDX) under which a dependency may be: what they ask for is met by naming it.
const LICENCES: [&str; 14] = [
    "0BSD",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    "ISC",
    "MIT",
    "MIT-0",
    "MPL-2.0",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
];

fn metadata(more: &[&str]) -> Result<Value, Box<dyn std::error::Error>> {
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
    let listed = Command::new(cargo)
        .args(["metadata", "--offline", "--format-version", "1"])
        .args(more)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()?;
    assert!(listed.status.success(), "{}", String::from_utf8_lossy(&listed.stderr));
    Ok(serde_json::from_slice(&listed.stdout)?)
}

/// The platform that the compiler runs on, as it names it.
fn host() -> Result<String, Box<dyn std::error::Error>> {
    let compiler = std::env::var("RUSTC").unwrap_or_else(|_| "rustc".into());
    let said = String::from_utf8(Command::new(compiler).arg("-vV").output()?.stdout)?;
    Ok(said
        .lines()
        .find_map(|line| line.strip_prefix("host: "))
        .ok_or("the compiler does not say its platform")?
        .to_owned())
}

fn packages(metadata: &Value) -> impl Iterator<Item = &Value> {
    metadata["packages"].as_array().into_iter().flatten()
}

/// Whether an SPDX expression can be met by what is allowed: one side of every OR, both of every AND.
fn is_allowed(expression: &str) -> bool {
    let whole = expression.replace('/', " OR ").replace(['(', ')'], " ");
    let all_of = |part: &str| part.split(" AND ").all(|one| LICENCES.contains(&one.trim()));
    // An AND binds the ORs in brackets beside it: it is enough that each part in turn is allowed.
    whole.split(" OR ").any(all_of) || whole.split(" AND ").all(|part| part.split(" OR ").any(all_of))
}

#[test]
fn an_expression_of_licences_is_read_as_spdx_means_it() {
    assert!(
        is_allowed("MIT OR GPL-3.0-only")
            && is_allowed("MIT/Apache-2.0")
            && is_allowed("(MIT OR Apache-2.0) AND Unicode-3.0")
    );
    assert!(!is_allowed("GPL-3.0-only") && !is_allowed("MIT AND GPL-3.0-only") && !is_allowed(""));
}

#[test]
fn every_licence_is_one_that_may_be_used() -> Checked {
    // Of this platform alone: what other platforms ask for is not at hand without the network.
    let metadata = metadata(&["--filter-platform", &host()?])?;
    let refused: Vec<String> = packages(&metadata)
        .filter(|package| !is_allowed(package["license"].as_str().unwrap_or_default()))
        .map(|package| format!("{} ({})", package["name"], package["license"]))
        .collect();
    assert!(refused.is_empty(), "licences not on the list: {refused:?}");
    Ok(())
}

/// A source, and the modules elsewhere that it names with `#[path]`.
fn with_modules(path: &Path) -> Result<String, Box<dyn std::error::Error>> {
    let mut text = fs::read_to_string(path)?;
    let folder = path.parent().unwrap_or(Path::new(""));
    let module = |line: &str| Some(folder.join(line.strip_prefix("#[path = \"")?.strip_suffix("\"]")?));
    let modules: Vec<PathBuf> = text.lines().filter_map(module).collect();
    for module in modules {
        text += &with_modules(&module)?;
    }
    Ok(text)
}

/// All Rust sources of a package: those in its folder, and those elsewhere that its targets and modules name.
fn sources(package: &Value) -> Result<String, Box<dyn std::error::Error>> {
    let folder = Path::new(package["manifest_path"].as_str().unwrap_or_default())
        .parent()
        .unwrap_or(Path::new(""));
    let mut text = String::new();
    let mut folders: Vec<PathBuf> = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder)? {
            let path = entry?.path();
            let is_package = path.join("Cargo.toml").exists();
            if path.is_dir() && !is_package && path.file_name().is_none_or(|name| name != "target") {
                folders.push(path);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                text += &with_modules(&path)?;
            }
        }
    }
    for target in package["targets"].as_array().into_iter().flatten() {
        text += &with_modules(Path::new(target["src_path"].as_str().unwrap_or_default()))?;
    }
    Ok(text)
}

#[test]
fn every_dependency_is_used() -> Checked {
    let metadata = metadata(&["--no-deps"])?;
    let mut unused = vec![];
    for package in packages(&metadata) {
        let text = sources(package)?;
        for dependency in package["dependencies"].as_array().into_iter().flatten() {
            let name = dependency["rename"]
                .as_str()
                .or(dependency["name"].as_str())
                .unwrap_or_default();
            let word = name.replace('-', "_");
            let uses = [
                format!("{word}::"),
                format!("{word} as "),
                format!("use {word};"),
                format!("{word}!"),
            ];
            if !uses.iter().any(|used| text.contains(used)) {
                unused.push(format!("{} does not use {name}", package["name"]));
            }
        }
    }
    assert!(unused.is_empty(), "{unused:#?}");
    Ok(())
}
