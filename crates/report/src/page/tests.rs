//! Escaping, and the policy in the head.

use super::html::{escape, script_safe_json};

#[test]
fn names_from_a_design_are_text_and_never_markup() {
    assert_eq!(
        escape("<img src=x onerror=\"a('b')\">&"),
        "&lt;img src=x onerror=&quot;a(&#39;b&#39;)&quot;&gt;&amp;"
    );
    assert_eq!(escape("a\u{0}b\u{1b}"), "a\u{fffd}b\u{fffd}");
}

#[test]
fn data_cannot_end_its_own_script() {
    let json = script_safe_json("{\"name\":\"</script><script>alert(1)//<!--\"}");
    assert!(!json.contains('<'), "got {json}");
    let back: serde_json::Value = serde_json::from_str(&json).expect("still JSON");
    assert_eq!(back["name"], "</script><script>alert(1)//<!--");
}
