//! An effort in a plan file: seconds or rounds, as plans have it since format 3.

use cullet_model::Effort;

#[test]
fn an_effort_is_seconds_or_rounds_and_not_both() {
    for (effort, text) in [
        (Effort::seconds(3, 20.0), r#"{"seed":3,"seconds":20.0,"rounds":null}"#),
        (Effort::rounds(7, 50), r#"{"seed":7,"seconds":null,"rounds":50}"#),
    ] {
        assert_eq!(serde_json::to_string(&effort).expect("a number"), text);
        assert_eq!(serde_json::from_str::<Effort>(text).expect("an effort"), effort);
    }
    for wrong in [
        r#"{"seed":3,"seconds":20.0,"rounds":50}"#,
        r#"{"seed":3,"seconds":null,"rounds":null}"#,
        r#"{"seed":3,"rounds":5,"threads":2}"#,
    ] {
        assert!(serde_json::from_str::<Effort>(wrong).is_err(), "{wrong}");
    }
}
