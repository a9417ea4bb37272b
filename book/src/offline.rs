//! The built book asks the network for nothing.

use std::path::{Path, PathBuf};

/// A place in the built book that asks the network for something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NetworkReference {
    /// The file.
    pub file: PathBuf,
    /// The line, from 1.
    pub line: usize,
    /// What would be asked for.
    pub address: String,
}

/// Attributes whose value a browser fetches or follows.
const ATTRIBUTES: [&str; 8] = [
    "src=", "href=", "srcset=", "poster=", "action=", "data=", "url(", "@import ",
];
/// Calls that fetch, in scripts.
const CALLS: [&str; 4] = [
    "fetch(",
    "fetch_with_timeout(",
    "importScripts(",
    "new WebSocket(",
];

/// mdBook's own script can send Rust examples to a public compiler; it does so only for
/// blocks of this class, which book.toml turns off.
const DORMANT_SCRIPT: &str = "play.rust-lang.org";
const DORMANT_CLASS: &str = "class=\"playground\"";

/// Every reference to the network in a folder of built pages.
///
/// # Errors
/// What the file system says where the folder can't be read.
pub fn network_references(folder: &Path) -> std::io::Result<Vec<NetworkReference>> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(&folder)? {
            let path = entry?.path();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            let extension = path.extension().and_then(|e| e.to_str()).unwrap_or("");
            if !["html", "css", "js", "svg"].contains(&extension) {
                continue;
            }
            let text = std::fs::read_to_string(&path)?;
            for (index, line) in text.lines().enumerate() {
                for address in addresses(line, extension == "js") {
                    found.push(NetworkReference {
                        file: path.clone(),
                        line: index + 1,
                        address,
                    });
                }
            }
        }
    }
    found.sort_by(|a, b| (&a.file, a.line).cmp(&(&b.file, b.line)));
    Ok(found)
}

fn addresses(line: &str, script: bool) -> Vec<String> {
    let mut found = Vec::new();
    if line.contains(DORMANT_CLASS) {
        found.push(DORMANT_SCRIPT.to_owned());
    }
    let openings: &[&str] = if script { &CALLS } else { &ATTRIBUTES };
    for opening in openings {
        for (at, _) in line.match_indices(opening) {
            let rest = line[at + opening.len()..].trim_start_matches(['"', '\'', '`', ' ']);
            let end = rest
                .find(['"', '\'', '`', ')', ' ', '>'])
                .unwrap_or(rest.len());
            let address = &rest[..end];
            let reaches_out = ["http:", "https:", "//", "ws:", "wss:"]
                .iter()
                .any(|scheme| address.starts_with(scheme));
            if reaches_out && !(script && address.contains(DORMANT_SCRIPT)) {
                found.push(address.to_owned());
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_reaches_out_is_found() {
        for (line, script) in [
            (r#"<script src="https://example.org/x.js">"#, false),
            (r#"<a href='//example.org'>"#, false),
            ("body { background: url(http://example.org/x.png) }", false),
            ("@import \"https://example.org/x.css\";", false),
            ("<pre><pre class=\"playground\">", false),
            ("fetch('https://example.org')", true),
        ] {
            assert_eq!(addresses(line, script).len(), 1, "{line}");
        }
    }

    #[test]
    fn what_stays_at_home_is_not() {
        for (line, script) in [
            (r#"<a href="reflect/circuit.html#top">"#, false),
            (r#"<svg xmlns="http://www.w3.org/2000/svg">"#, false),
            ("fetch_with_timeout('https://play.rust-lang.org/x')", true),
            ("// see https://example.org", true),
        ] {
            assert_eq!(addresses(line, script), Vec::<String>::new(), "{line}");
        }
    }
}
