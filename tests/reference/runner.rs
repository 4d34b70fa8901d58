//! Runs files of outside numbers through core and compares what comes back.
//!
//! A file is `{"method", "source", "source_kind", "tolerance", "cases": [{"name", "input", "expected"}]}`. Every value
//! in `expected` counts once: passed, failed, or skipped by its name when core has no counterpart. A value passes when
//! |got − expected| ≤ abs + rel·|expected|; `n: 0` means equal integers. `null` means that core refuses with a reason.

use std::path::Path;
use std::{fs, panic};

use bloomdue_core::calendar::Date;
use serde_json::{Map, Value};

mod readers;

/// What a run of all files found.
#[derive(Debug, Default)]
pub struct Report {
    /// Values that agree.
    pub passed: usize,
    /// Values that differ, and files that cannot be read.
    pub failed: usize,
    /// Values, cases and files without a counterpart in core.
    pub skipped: usize,
    /// One line for each difference, each thing skipped, and each file whose tools were not asked again.
    pub lines: Vec<String>,
}

impl Report {
    /// The last line to print.
    pub fn summary(&self) -> String {
        format!("reference: {} passed, {} failed, {} skipped", self.passed, self.failed, self.skipped)
    }

    fn fail(&mut self, line: String) {
        self.failed += 1;
        self.lines.push(format!("differs  {line}"));
    }

    fn skip(&mut self, line: String) {
        self.skipped += 1;
        self.lines.push(format!("skipped  {line}"));
    }
}

/// Runs every `*.json` in `dir`, in the order of their names.
///
/// # Errors
/// A sentence when the directory cannot be listed; files that cannot be read count as failed.
pub fn run(dir: &Path) -> Result<Report, String> {
    let listed = fs::read_dir(dir).map_err(|error| format!("cannot list {}: {error}", dir.display()))?;
    let mut files: Vec<_> = listed
        .filter_map(|entry| entry.ok().map(|entry| entry.path()))
        .filter(|path| path.extension().is_some_and(|extension| extension == "json"))
        .collect();
    files.sort();
    let mut report = Report::default();
    for path in files {
        let name = path.file_name().map(|name| name.to_string_lossy().into_owned());
        let name = name.unwrap_or_default();
        let text = fs::read_to_string(&path).map_err(|error| error.to_string());
        match text.and_then(|text| serde_json::from_str(&text).map_err(|error| error.to_string())) {
            Ok(file) => run_file(&name, &file, &mut report),
            Err(error) => report.fail(format!("{name}: cannot be read: {error}")),
        }
    }
    Ok(report)
}

/// Runs one file that was already read.
pub fn run_file(name: &str, file: &Value, report: &mut Report) {
    let Some(method) = file["method"].as_str() else {
        return report.skip(format!("{name}: not a file of check cases: no method"));
    };
    let Some(reader) = readers::find(method) else {
        return report.skip(format!("{name}: method {method} has no counterpart yet"));
    };
    if let Some(maker) = file["made_by"].as_str() {
        let source = file["source"].as_str().unwrap_or_default();
        let line = format!("not rerun  {name}: frozen by `{maker}` from {source}");
        report.lines.push(line);
    }
    let Some(cases) = file["cases"].as_array() else {
        return report.fail(format!("{name}: no cases"));
    };
    for case in cases {
        let place = format!("{name} {}", case["name"].as_str().unwrap_or("unnamed"));
        let mut tolerance = file["tolerance"].as_object().cloned().unwrap_or_default();
        if tolerance
            .get("note")
            .is_some_and(|note| note.as_str().is_some_and(|note| note.contains("within 0.006 of simulated_rate")))
        {
            tolerance.insert("rate_abs".to_owned(), 0.006.into());
        }
        if let Some(own) = case["tolerance"].as_object() {
            tolerance.extend(own.clone());
        }
        let run = || (reader.run)(&case["input"], file);
        let Ok(got) = panic::catch_unwind(panic::AssertUnwindSafe(run)) else {
            report.fail(format!("{place}: the program failed"));
            continue;
        };
        let comparison = Comparison { tolerance: &tolerance, keys: reader.keys };
        comparison.compare(&place, &case["expected"], Some(&got), report);
    }
}

/// How a method's fields find their tolerance: parts of field names, each with the keys that replace `abs` and `rel`.
pub type Keys = &'static [(&'static str, &'static str, &'static str)];

/// The rules by which one case is compared.
struct Comparison<'a> {
    tolerance: &'a Map<String, Value>,
    keys: Keys,
}

impl Comparison<'_> {
    /// Compares one value, or each part of it, by its path.
    fn compare(&self, path: &str, expected: &Value, got: Option<&Value>, report: &mut Report) {
        let Some(got) = got else {
            let why = readers::without(path).unwrap_or("core says nothing of this name here");
            return report.skip(format!("{path}: has no counterpart: {why}"));
        };
        let refused = got.get(readers::REFUSED);
        match (expected, got) {
            (Value::Null, _) if wholly_refused(got) => report.passed += 1,
            (Value::Object(fields), _) if refused.is_none() && got.is_object() => {
                for (name, value) in fields {
                    self.compare(&format!("{path}.{name}"), value, got.get(name), report);
                }
            }
            (Value::Object(fields), _) if refused.is_some() => {
                for (name, value) in fields {
                    self.compare(&format!("{path}.{name}"), value, Some(got), report);
                }
            }
            (Value::Array(_), Value::Array(_)) if self.unordered(path) && sorted(expected) == sorted(got) => {
                report.passed += 1;
            }
            (Value::Array(items), Value::Array(others)) => {
                if items.len() != others.len() {
                    return report.fail(format!("{path}: expected {expected}, got {got}"));
                }
                for (index, item) in items.iter().enumerate() {
                    self.compare(&format!("{path}[{index}]"), item, others.get(index), report);
                }
                // An empty list is a statement too.
                report.passed += usize::from(items.is_empty());
            }
            _ if self.equal(path, expected, got) => report.passed += 1,
            _ => report.fail(format!("{path}: expected {expected}, got {got}")),
        }
    }

    /// Whether the order of a list, and within its entries, says nothing.
    fn unordered(&self, path: &str) -> bool {
        path.ends_with(".aliased_pairs")
    }

    /// Whether two plain values agree within the tolerance of their field.
    fn equal(&self, path: &str, expected: &Value, got: &Value) -> bool {
        let (absolute, relative) = self.slack(path);
        let seconds = |value: &Value| value.as_str().and_then(seconds);
        if let (Some(expected), Some(got)) = (seconds(expected), seconds(got)) {
            return (got - expected).abs() <= absolute;
        }
        let (Some(expected), Some(got)) = (expected.as_f64(), got.as_f64()) else {
            return expected == got;
        };
        (got - expected).abs() <= absolute + relative * expected.abs()
    }

    /// The absolute and the relative tolerance of the field at `path`.
    fn slack(&self, path: &str) -> (f64, f64) {
        let number = |key: &str| self.tolerance.get(key).and_then(Value::as_f64);
        let (mut absolute, mut relative) = (number("abs").unwrap_or(0.0), number("rel").unwrap_or(0.0));
        let field = path.split_once('.').map_or("", |(_, field)| field);
        for (part, abs_key, rel_key) in self.keys {
            if field.contains(part) {
                absolute = number(abs_key).unwrap_or(absolute);
                relative = number(rel_key).unwrap_or(relative);
            }
        }
        (absolute, relative)
    }
}

/// A moment `2026-03-15T05:56:14Z` or a time of day `06:12:43` in seconds; nothing for any other text.
fn seconds(text: &str) -> Option<f64> {
    let (day, time) = match text.strip_suffix('Z').and_then(|text| text.split_once('T')) {
        Some((day, time)) => (day.parse::<Date>().ok()?, time),
        None => (Date::new(2000, 1, 1).ok()?, text),
    };
    let parts: Option<Vec<f64>> = time.split(':').map(|part| part.parse().ok()).collect();
    let [hours, minutes, seconds] = parts?[..] else {
        return None;
    };
    let days = Date::new(2000, 1, 1).ok()?.days_until(day) as f64;
    Some(((days * 24.0 + hours) * 60.0 + minutes) * 60.0 + seconds)
}

/// Whether core refused all of a value: itself, or every field it has.
fn wholly_refused(got: &Value) -> bool {
    match got {
        Value::Object(fields) if fields.contains_key(readers::REFUSED) => true,
        Value::Object(fields) => !fields.is_empty() && fields.values().all(wholly_refused),
        _ => false,
    }
}

/// A list of lists as texts in order, to compare without regard to order.
fn sorted(list: &Value) -> Vec<Vec<String>> {
    let texts = |value: &Value| {
        let entries = value.as_array().map(Vec::as_slice).unwrap_or_default();
        let mut texts: Vec<String> = entries.iter().map(Value::to_string).collect();
        texts.sort();
        texts
    };
    let mut all: Vec<Vec<String>> = list.as_array().map(Vec::as_slice).unwrap_or_default().iter().map(texts).collect();
    all.sort();
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn counts(expected: Value) -> (usize, usize, usize) {
        let file = json!({"method": "easter_sunday", "tolerance": {"n": 0}, "cases": [
            {"name": "case", "input": {"year": 2027}, "expected": expected},
        ]});
        let mut report = Report::default();
        run_file("file", &file, &mut report);
        (report.passed, report.failed, report.skipped)
    }

    #[test]
    fn differences_and_gaps_are_counted_and_named() {
        assert_eq!(counts(json!({"date": "2027-03-28"})), (1, 0, 0));
        assert_eq!(counts(json!({"date": "2027-03-29"})), (0, 1, 0));
        assert_eq!(counts(json!({"date": null})), (0, 1, 0));
        assert_eq!(counts(json!({"date": "2027-03-28", "moon": 14})), (1, 0, 1));
        let light = readers::without("file here.dli_estimates_mol_m2_day.haurwitz");
        assert!(light.is_some_and(|why| why.contains("FAO-56")));
        let mut report = Report::default();
        run_file("file", &json!({"method": "unheard_of", "cases": []}), &mut report);
        assert_eq!(report.summary(), "reference: 0 passed, 0 failed, 1 skipped");
        assert!(report.lines[0].contains("unheard_of"));
    }

    #[test]
    fn what_was_frozen_is_named_as_not_rerun() {
        let file = json!({"method": "easter_sunday", "source": "a library 1.0", "made_by": "a command", "cases": []});
        let mut report = Report::default();
        run_file("file", &file, &mut report);
        let line = "not rerun  file: frozen by `a command` from a library 1.0";
        assert_eq!(report.lines, [line]);
        assert_eq!(report.summary(), "reference: 0 passed, 0 failed, 0 skipped");
    }

    #[test]
    fn a_refusal_passes_only_where_nothing_is_expected() {
        let run = |expected: Value| {
            let file = json!({"method": "easter_sunday", "tolerance": {"n": 0}, "cases": [
                {"name": "case", "input": {"year": 1}, "expected": expected},
            ]});
            let mut report = Report::default();
            run_file("file", &file, &mut report);
            (report.passed, report.failed)
        };
        assert_eq!(run(json!({"date": null})), (1, 0));
        assert_eq!(run(json!({"date": "0001-04-01"})), (0, 1));
    }

    #[test]
    fn tolerances_are_absolute_plus_relative_and_may_belong_to_a_field() {
        let tolerance = json!({"abs": 0.1, "rel": 0.01, "p_abs": 0.5});
        let comparison =
            Comparison { tolerance: tolerance.as_object().expect("an object"), keys: &[("p_value", "p_abs", "p_rel")] };
        assert!(comparison.equal("file case.x", &json!(10), &json!(10.19)));
        assert!(!comparison.equal("file case.x", &json!(10), &json!(10.21)));
        assert!(comparison.equal("file case.p_value", &json!(10), &json!(10.59)));
        assert!(comparison.equal("file case.x", &json!("Infinity"), &json!("Infinity")));
        let (two, three) = (json!("2026-03-15T23:59:59.95Z"), json!("2026-03-16T00:00:00Z"));
        assert!(!comparison.equal("file case.x", &json!("12:00:00"), &json!("12:00:01")));
        assert!(comparison.equal("file case.p_value", &three, &three));
        // A twentieth of a second apart, over midnight.
        assert!(comparison.equal("file case.x", &two, &three));
        assert!(!comparison.equal("file case.x", &json!("Infinity"), &json!(1e300)));
    }
}
