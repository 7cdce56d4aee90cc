//! `summary.json` is what its published schema says, and the schema is what the code says.

use std::path::Path;
use std::process::Command;

use serde_json::Value;

fn throwmap(arguments: &[&str]) -> std::process::Output {
    Command::new(env!("CARGO_BIN_EXE_throwmap")).args(arguments).output().expect("the program runs")
}

fn schema() -> Value {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("schema/summary.schema.json");
    serde_json::from_slice(&std::fs::read(path).expect("the schema")).expect("JSON")
}

#[test]
fn the_file_is_what_the_program_prints() {
    let printed = throwmap(&["schema", "--summary"]).stdout;
    let printed: Value = serde_json::from_slice(&printed).expect("JSON");
    assert!(
        printed == schema(),
        "write it anew: throwmap schema --summary > cli/schema/summary.schema.json"
    );
}

/// What in `value` is not as `rule` has it; only the keywords that our schema uses.
fn faults(root: &Value, rule: &Value, value: &Value, path: &str, out: &mut Vec<String>) {
    if let Some(name) = rule["$ref"].as_str() {
        let found = root.pointer(name.trim_start_matches('#')).expect("a definition");
        return faults(root, found, value, path, out);
    }
    if let Some(choices) = rule["anyOf"].as_array().or_else(|| rule["oneOf"].as_array()) {
        let tried: Vec<Vec<String>> = choices
            .iter()
            .map(|choice| {
                let mut found = Vec::new();
                faults(root, choice, value, path, &mut found);
                found
            })
            .collect();
        if tried.iter().all(|found| !found.is_empty()) {
            out.extend(tried.into_iter().flatten());
        }
        return;
    }
    for rule in rule["allOf"].as_array().into_iter().flatten() {
        faults(root, rule, value, path, out);
    }
    let types = match &rule["type"] {
        Value::String(one) => vec![one.as_str()],
        Value::Array(many) => many.iter().filter_map(Value::as_str).collect(),
        _ => Vec::new(),
    };
    let fits = |kind: &&str| match *kind {
        "null" => value.is_null(),
        "boolean" => value.is_boolean(),
        "number" => value.is_number(),
        "integer" => value.is_i64() || value.is_u64(),
        "string" => value.is_string(),
        "array" => value.is_array(),
        "object" => value.is_object(),
        other => panic!("unknown type {other}"),
    };
    if !types.is_empty() && !types.iter().any(fits) {
        out.push(format!("{path}: {value} is not of type {types:?}"));
    }
    if let Some(allowed) = rule["enum"].as_array()
        && !allowed.contains(value)
    {
        out.push(format!("{path}: {value} is not one of {allowed:?}"));
    }
    if let Some(constant) = rule.get("const")
        && constant != value
    {
        out.push(format!("{path}: {value} is not {constant}"));
    }
    if let (Some(object), Some(properties)) = (value.as_object(), rule["properties"].as_object()) {
        for key in rule["required"].as_array().into_iter().flatten().filter_map(Value::as_str) {
            if !object.contains_key(key) {
                out.push(format!("{path}: {key} is missing"));
            }
        }
        for (key, value) in object {
            match properties.get(key) {
                Some(rule) => faults(root, rule, value, &format!("{path}.{key}"), out),
                None => out.push(format!("{path}: {key} is not in the schema")),
            }
        }
    }
    if let Some(items) = value.as_array() {
        for (k, item) in items.iter().enumerate() {
            let rule = match &rule["items"] {
                Value::Array(each) => each.get(k).unwrap_or(&Value::Null),
                one => one,
            };
            faults(root, rule, item, &format!("{path}[{k}]"), out);
        }
    }
}

#[test]
fn summaries_of_all_examples_are_as_the_schema_has_them() {
    let schema = schema();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples");
    let out = tempfile::tempdir().expect("a folder");
    let (mut runs, mut sequences) = (0, 0);
    for entry in std::fs::read_dir(folder).expect("the examples") {
        let job = entry.expect("an entry").path();
        if job.extension().is_none_or(|e| e != "toml") {
            continue;
        }
        let name = job.file_stem().expect("a name").to_string_lossy().into_owned();
        let results = out.path().join(&name);
        let ran = throwmap(&[
            "run",
            &job.to_string_lossy(),
            "--out-dir",
            &results.to_string_lossy(),
            "--no-ranges",
            "--quiet",
        ]);
        assert!(matches!(ran.status.code(), Some(0 | 1)), "{name}: {ran:?}");
        for file in std::fs::read_dir(&results).expect("results") {
            let path = file.expect("an entry").path();
            if !path.to_string_lossy().ends_with("summary.json") {
                continue;
            }
            let text = std::fs::read(&path).expect("a summary");
            let summary: Value = serde_json::from_slice(&text).expect("JSON");
            let mut found = Vec::new();
            faults(&schema, &schema, &summary, "", &mut found);
            assert!(found.is_empty(), "{}: {found:#?}", path.display());
            if summary["kind"].is_null() {
                runs += 1
            } else {
                sequences += 1
            }
            // the check sees what is missing and what does not belong
            let mut broken = summary;
            broken["no such key"] = Value::Null;
            broken.as_object_mut().expect("an object").remove("version");
            faults(&schema, &schema, &broken, "", &mut found);
            assert!(!found.is_empty());
        }
    }
    assert!(runs >= 14 && sequences >= 1, "{runs} runs, {sequences} sequences");
}
