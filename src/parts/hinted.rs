//! Hints put to the test: the job that one asks for.

/// The job that a hint asks for, if it says so in so many words.
pub(super) fn hinted(text: &str, hint: &str) -> Option<String> {
    if hint.contains("finer printer") {
        return None;
    }
    let words: Vec<&str> = hint.strip_prefix("give ")?.split(' ').collect();
    let (key, value) = match words[..] {
        [key, "=", value] | [key, value] | [key, value, "or", _] => (key, value),
        [key, "between", _, "and", high] => (key, high),
        _ => return None,
    };
    let kept: Vec<&str> = text.lines().filter(|l| !l.starts_with(&format!("{key} ="))).collect();
    Some(format!("{}\n{key} = {value}\n", kept.join("\n")))
}
