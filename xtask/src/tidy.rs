//! Keeps ARCHITECTURE.md true: its floor table against `cargo metadata`.
//!
//! Every crate of the workspace stands in the table; no crate depends on one of a higher floor; no crate
//! below floor 5 depends on a library that opens files, terminals or sockets.

use crate::shell;
use serde_json::Value;
use std::collections::BTreeMap;

/// Libraries that belong to the edge of the house.
const EDGE_LIBRARIES: [&str; 5] = ["clap", "ctrlc", "toml_edit", "hyper", "tokio"];

/// First floor that may use them.
const EDGE_FLOOR: u32 = 5;

/// Checks the table and prints what it found.
pub fn run() -> Result<(), String> {
    let page = shell::root().join("ARCHITECTURE.md");
    let text = std::fs::read_to_string(&page).map_err(|e| format!("ARCHITECTURE.md: {e}"))?;
    let floors = floors(&text)?;
    let metadata = shell::output_of("cargo", &["metadata", "--format-version", "1", "--no-deps"])
        .ok_or("cargo metadata failed")?;
    let metadata: Value = serde_json::from_str(&metadata).map_err(|e| e.to_string())?;
    let faults = faults(&floors, &metadata);
    if faults.is_empty() {
        println!(
            "tidy: ARCHITECTURE.md names all {} crates, and no arrow points upward",
            floors.len()
        );
        Ok(())
    } else {
        Err(format!(
            "ARCHITECTURE.md and the workspace disagree:\n  {}",
            faults.join("\n  ")
        ))
    }
}

/// Floor of each crate from table rows such as "| 1 | `oil` | … |"; "aside" rows have no floor.
fn floors(text: &str) -> Result<BTreeMap<String, Option<u32>>, String> {
    let mut floors = BTreeMap::new();
    for line in text.lines() {
        let cells: Vec<&str> = line.split('|').map(str::trim).collect();
        if cells.len() < 5 {
            continue;
        }
        let floor = match (cells[1], cells[1].parse::<u32>()) {
            (_, Ok(floor)) => Some(floor),
            ("aside", _) => None,
            _ => continue,
        };
        for name in cells[2].split('`').skip(1).step_by(2) {
            if floors.insert(name.to_string(), floor).is_some() {
                return Err(format!("ARCHITECTURE.md names `{name}` twice"));
            }
        }
    }
    Ok(floors)
}

fn faults(floors: &BTreeMap<String, Option<u32>>, metadata: &Value) -> Vec<String> {
    let mut faults = Vec::new();
    let empty = Vec::new();
    let packages = metadata["packages"].as_array().unwrap_or(&empty);
    let mut seen = Vec::new();
    for package in packages {
        let name = short(package["name"].as_str().unwrap_or_default());
        seen.push(name.to_string());
        let Some(floor) = floors.get(name) else {
            faults.push(format!("crate `{name}` stands in no row"));
            continue;
        };
        let Some(floor) = *floor else { continue };
        for dependency in package["dependencies"].as_array().unwrap_or(&empty) {
            if !dependency["kind"].is_null() {
                continue; // tests and build scripts may look anywhere
            }
            let wanted = dependency["name"].as_str().unwrap_or_default();
            match floors.get(short(wanted)) {
                Some(Some(below)) if *below >= floor => {
                    faults.push(format!(
                        "`{name}` (floor {floor}) depends on `{}` (floor {below})",
                        short(wanted)
                    ));
                }
                Some(None) => faults.push(format!(
                    "`{name}` depends on `{}`, which stands aside",
                    short(wanted)
                )),
                _ if floor < EDGE_FLOOR && EDGE_LIBRARIES.contains(&wanted) => {
                    faults.push(format!(
                        "`{name}` (floor {floor}) uses `{wanted}`, a library of the edge"
                    ));
                }
                _ => {}
            }
        }
    }
    for name in floors.keys().filter(|name| !seen.contains(name)) {
        faults.push(format!(
            "`{name}` stands in the table and is no crate of the workspace"
        ));
    }
    faults
}

fn short(package: &str) -> &str {
    match package {
        "sumpwright" => "app",
        other => other.strip_prefix("sumpwright-").unwrap_or(other),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PAGE: &str = "| 0 | `low` | a | b |\n| 1 | `high` | a | b |\n| aside | `tool` | a | b |\n";

    #[test]
    fn an_arrow_that_points_upward_is_named() {
        let metadata = serde_json::json!({"packages": [
            {"name": "sumpwright-low", "dependencies": [{"name": "sumpwright-high", "kind": null}]},
            {"name": "sumpwright-high", "dependencies": [{"name": "sumpwright-low", "kind": null}]},
            {"name": "tool", "dependencies": [{"name": "sumpwright-high", "kind": null}]},
        ]});
        let found = faults(&floors(PAGE).unwrap(), &metadata);
        assert_eq!(found, ["`low` (floor 0) depends on `high` (floor 1)"]);
    }

    #[test]
    fn a_crate_without_a_row_and_a_row_without_a_crate_are_named() {
        let metadata = serde_json::json!({"packages": [
            {"name": "sumpwright-low", "dependencies": [{"name": "clap", "kind": null}]},
            {"name": "sumpwright-new", "dependencies": []},
            {"name": "tool", "dependencies": []},
        ]});
        let found = faults(&floors(PAGE).unwrap(), &metadata).join("; ");
        assert!(found.contains("`low` (floor 0) uses `clap`"), "{found}");
        assert!(found.contains("crate `new` stands in no row"), "{found}");
        assert!(found.contains("`high` stands in the table"), "{found}");
    }
}
