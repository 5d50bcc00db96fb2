//! Every formula says what it computes, where it holds, where it comes from and how it was checked.

/// Readers and constructors that compute nothing.
const PLAIN: [&str; 4] = ["n", "c", "total", "solid"];

#[test]
fn every_formula_is_documented() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/src/formulas");
    let mut missing = Vec::new();
    let mut formulas = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        let code = text.split("#[cfg(test)]").next().unwrap();
        let mut doc = String::new();
        let mut lines = code.lines().map(str::trim).peekable();
        while let Some(line) = lines.next() {
            if let Some(words) = line.strip_prefix("///") {
                doc.push_str(words);
                doc.push('\n');
                continue;
            }
            if let Some(rest) = line.strip_prefix("pub fn ") {
                let name = rest.split(['(', '<']).next().unwrap();
                let mut signature = line.to_owned();
                while !signature.contains('{') {
                    signature.push_str(lines.next().unwrap());
                }
                if !PLAIN.contains(&name) {
                    formulas += 1;
                    let mut wanted = vec!["# Formula", "# Valid for", "# Source", "# Check"];
                    if signature.contains("Result<") {
                        wanted.push("# Errors");
                    }
                    for section in wanted {
                        let body = doc.split(&format!("{section}\n")).nth(1).and_then(|b| b.split("\n #").next());
                        if body.is_none_or(|b| b.trim().len() < 5) {
                            missing.push(format!("{}: {name} lacks {section}", path.display()));
                        }
                    }
                }
            }
            if !line.starts_with('#') {
                doc.clear();
            }
        }
    }
    assert!(formulas > 60, "{formulas}");
    assert!(missing.is_empty(), "{}", missing.join("\n"));
}
