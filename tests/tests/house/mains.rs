//! What the three-line mains of the commands must not do.

use std::fs;

use jigwise_tests::workspace::root;

/// A main that holds the lock of standard error for the whole run can't be stopped: the handler of
/// signals waits for the same lock.
#[test]
fn no_main_holds_standard_error() {
    let mains = [
        "book/src/bin/book.rs",
        "exercises/src/bin/lab.rs",
        "sim/jig/src/bin/jig.rs",
    ];
    for main in mains {
        let text = fs::read_to_string(root().join(main)).unwrap();
        assert!(text.contains("clean_up_when_stopped"), "{main}");
        assert!(!text.contains("stderr().lock()"), "{main}");
    }
}
