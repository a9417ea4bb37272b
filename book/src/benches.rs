//! Links from worked examples into the simulator, in an edition that has one. Elsewhere the place
//! of the link stays hidden.

use std::fs;
use std::io;
use std::path::Path;

/// How a built page holds the place of such a link, before the fragment and after it.
const PLACE: [&str; 2] = ["<p class=\"open-bench\" hidden data-fragment=\"", "\"></p>"];
/// Where the simulator is in a built book.
pub(crate) const SIMULATOR_FOLDER: &str = "simulator";

/// Puts the links into the pages of a built book.
///
/// # Errors
/// What the system says.
pub(crate) fn link(folder: &Path) -> io::Result<()> {
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
                let linked = linked(&text, &up);
                if linked != text {
                    fs::write(&path, linked)?;
                }
            }
        }
    }
    Ok(())
}

fn linked(text: &str, up: &str) -> String {
    let [before, after] = PLACE;
    let mut pieces = text.split(before);
    let mut linked = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        let (fragment, rest) = piece.split_once(after).unwrap_or((piece, ""));
        linked.push_str(&format!(
            "<p class=\"open-bench\"><a href=\"{up}{SIMULATOR_FOLDER}/index.html#{fragment}\">Open \
             this bench in the simulator</a></p>{rest}"
        ));
    }
    linked
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_link_knows_its_way_up() {
        let page =
            "<p>a</p><p class=\"open-bench\" hidden data-fragment=\"bench=1.x\"></p><p>b</p>";
        assert_eq!(
            linked(page, "../"),
            "<p>a</p><p class=\"open-bench\"><a href=\"../simulator/index.html#bench=1.x\">Open this \
             bench in the simulator</a></p><p>b</p>"
        );
        assert_eq!(linked("<p>a</p>", ""), "<p>a</p>");
    }
}
