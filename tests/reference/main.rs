//! Numbers from outside, run through core.

use std::path::Path;

/// Every file of the repository's copy agrees, and nothing in it is silently left out.
#[test]
fn all_files_agree() {
    let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join("reference");
    let report = bloomdue_tests::reference::run(&dir).expect("the directory of check cases");
    for line in &report.lines {
        println!("{line}");
    }
    println!("{}", report.summary());
    assert!(report.passed > 100, "too few values were compared");
    assert_eq!(report.failed, 0);
}
