//! Links from worked examples into the simulator: there where the edition has one, gone where it
//! has none.

use std::fs;
use std::io;
use std::path::Path;

/// How a built page writes such a link before its folder is known.
const PLACE: &str = "jigwise-simulator:";
const OPENING: &str = "<p class=\"open-bench\">";
const CLOSING: &str = "</p>";
/// Where the simulator is in a built book.
pub(crate) const SIMULATOR_FOLDER: &str = "simulator";

/// Goes over the pages of a built book.
///
/// # Errors
/// What the system says.
pub(crate) fn link(folder: &Path, with_simulator: bool) -> io::Result<()> {
    let mut folders = vec![(folder.to_owned(), String::new())];
    while let Some((folder, up)) = folders.pop() {
        for entry in fs::read_dir(&folder)? {
            let path = entry?.path();
            if path.is_dir() {
                folders.push((path, format!("../{up}")));
            } else if path
                .extension()
                .is_some_and(|extension| extension == "html")
            {
                let text = fs::read_to_string(&path)?;
                let linked = linked(&text, &up, with_simulator);
                if linked != text {
                    fs::write(&path, linked)?;
                }
            }
        }
    }
    Ok(())
}

fn linked(text: &str, up: &str, with_simulator: bool) -> String {
    if with_simulator {
        return text.replace(PLACE, &format!("{up}{SIMULATOR_FOLDER}/index.html"));
    }
    let mut left = String::with_capacity(text.len());
    let mut rest = text;
    while let Some((before, after)) = rest.split_once(OPENING) {
        left.push_str(before);
        rest = after.split_once(CLOSING).map_or("", |(_, after)| after);
    }
    left.push_str(rest);
    left
}

#[cfg(test)]
mod tests {
    use super::*;

    const PAGE: &str = "<p>a</p><p class=\"open-bench\"><a href=\"jigwise-simulator:#bench=1.x\">\
                        Open this bench</a></p><p>b</p>";

    #[test]
    fn a_link_knows_its_way_up() {
        let linked = linked(PAGE, "../", true);
        assert!(
            linked.contains("href=\"../simulator/index.html#bench=1.x\""),
            "{linked}"
        );
    }

    #[test]
    fn where_there_is_no_simulator_there_is_no_link() {
        assert_eq!(linked(PAGE, "", false), "<p>a</p><p>b</p>");
    }
}
