//! Finding names in Kotlin and Swift without their compilers: good enough for names.

/// The text without line comments (`// …`) and block comments (`/* … */`), strings kept.
pub fn code(source: &str) -> String {
    let mut out = String::with_capacity(source.len());
    let mut rest = source;
    let mut in_string = false;
    while let Some(c) = rest.chars().next() {
        if in_string && c == '\\' {
            let end = rest.char_indices().nth(2).map_or(rest.len(), |(i, _)| i);
            out.push_str(&rest[..end]);
            rest = &rest[end..];
            continue;
        }
        if c == '"' || (in_string && c == '\n') {
            // A string does not go over the end of a line in either language's plain form.
            in_string = c == '"' && !in_string;
        }
        if !in_string && rest.starts_with("//") {
            rest = rest.find('\n').map_or("", |i| &rest[i..]);
            continue;
        }
        if !in_string && rest.starts_with("/*") {
            rest = rest.find("*/").map_or("", |i| &rest[i + 2..]);
            continue;
        }
        out.push(c);
        rest = &rest[c.len_utf8()..];
    }
    out
}

/// Every string literal of the code, as written between its quotes.
pub fn literals(code: &str) -> Vec<&str> {
    let mut found = Vec::new();
    for line in code.lines() {
        let mut start: Option<usize> = None;
        let mut skip = false;
        for (i, c) in line.char_indices() {
            match (c, start) {
                _ if skip => skip = false,
                ('\\', Some(_)) => skip = true,
                ('"', None) => start = Some(i + 1),
                ('"', Some(s)) => {
                    found.push(&line[s..i]);
                    start = None;
                }
                _ => {}
            }
        }
    }
    found
}

/// Whether `name` stands in the code as a whole word, straight after `before`.
pub fn has_word(code: &str, before: &str, name: &str) -> bool {
    words(code, before, name).next().is_some()
}

/// Where `name` stands in the code as a whole word, straight after `before`: the places of
/// `before`.
pub fn words<'a>(code: &'a str, before: &str, name: &str) -> impl Iterator<Item = usize> + 'a {
    let wanted = format!("{before}{name}");
    let mut from = 0;
    std::iter::from_fn(move || {
        while let Some(at) = code[from..].find(&wanted).map(|i| i + from) {
            from = at + wanted.len();
            let after = code[from..].chars().next();
            if !after.is_some_and(|c| c.is_alphanumeric() || c == '_') {
                return Some(at);
            }
        }
        None
    })
}

/// `book_line` as Kotlin and Swift write a field: `bookLine`.
pub fn camel(snake: &str) -> String {
    let mut parts = snake.split('_');
    let mut out = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let mut letters = part.chars();
        out.extend(letters.next().map(|c| c.to_ascii_uppercase()));
        out.push_str(letters.as_str());
    }
    out
}

/// `BookLine` as Swift writes a case: `bookLine`.
pub fn lower_first(name: &str) -> String {
    let mut letters = name.chars();
    let first = letters.next().map(|c| c.to_ascii_lowercase());
    first.into_iter().chain(letters).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comments_go_and_strings_stay() {
        let text = "a // \"no\"\n\"http://x\" /* \"no\" */ b \"q\\\"//\" // end";
        assert_eq!(code(text), "a \n\"http://x\"  b \"q\\\"//\" ");
        assert_eq!(literals(&code(text)), ["http://x", "q\\\"//"]);
    }

    #[test]
    fn a_word_is_whole() {
        assert!(has_word("view.call!", ".", "call"));
        assert!(!has_word("view.callLabel", ".", "call"));
        assert!(!has_word("view.call_it", ".", "call"));
        assert_eq!(words("Act.Tick, is Act.Tick", "Act.", "Tick").count(), 2);
    }

    #[test]
    fn names_are_written_as_each_language_does() {
        assert_eq!(camel("since_ms"), "sinceMs");
        assert_eq!(camel("roster"), "roster");
        assert_eq!(lower_first("BookLine"), "bookLine");
    }
}
