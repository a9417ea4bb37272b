//! A bound module as files of a page.

use std::io::Write;
use std::path::Path;
use std::{fs, io};

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use flate2::Compression;
use flate2::write::GzEncoder;

use super::bind::{Bound, global};
use super::{WebCrate, WebError};

/// How a module reaches its page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Packing {
    /// A file beside the script, for any static host.
    Served,
    /// Bytes as text in a script, for a folder that is opened without a server.
    Stick,
}

/// A module as files.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Packed {
    files: Vec<(String, Vec<u8>)>,
    raw: usize,
    gzip: usize,
}

/// What a page loads; see the file for what it does.
const LOADER: &str = include_str!("loader.js");

pub(super) fn packed(of: WebCrate, bound: Bound, packing: Packing) -> Result<Packed, WebError> {
    let zipped = gzip(&bound.wasm).map_err(WebError::Pack)?;
    let (raw, gzip) = (bound.wasm.len(), zipped.len());
    let (bytes, stick) = match packing {
        Packing::Served => ((format!("{}.wasm", of.name), bound.wasm), "false"),
        Packing::Stick => (
            (format!("{}-bytes.js", of.name), script(of, &zipped)),
            "true",
        ),
    };
    // The glue goes in last: it may hold anything.
    let loader = LOADER
        .replace("__NAME__", of.name)
        .replace("__STICK__", stick)
        .replace("__RAW__", &raw.to_string())
        .replace("__GLOBAL__", &global(of))
        .replace("/*__GLUE__*/", &bound.glue);
    let files = vec![(format!("{}.js", of.name), loader.into_bytes()), bytes];
    Ok(Packed { files, raw, gzip })
}

fn gzip(bytes: &[u8]) -> io::Result<Vec<u8>> {
    let mut encoder = GzEncoder::new(Vec::new(), Compression::best());
    encoder.write_all(bytes)?;
    encoder.finish()
}

fn script(of: WebCrate, zipped: &[u8]) -> Vec<u8> {
    let text = STANDARD.encode(zipped);
    format!(
        "window.jigwise.{name}.zipped = \"{text}\";\n",
        name = of.name
    )
    .into_bytes()
}

impl Packed {
    /// Writes the files into a folder, which is made if need be.
    ///
    /// # Errors
    /// What the system says.
    pub fn write(&self, folder: &Path) -> io::Result<()> {
        fs::create_dir_all(folder)?;
        for (name, bytes) in &self.files {
            fs::write(folder.join(name), bytes)?;
        }
        Ok(())
    }

    /// The bytes of the module.
    pub fn raw_bytes(&self) -> usize {
        self.raw
    }

    /// The bytes of the module as gzip.
    pub fn gzip_bytes(&self) -> usize {
        self.gzip
    }
}

#[cfg(test)]
mod tests {
    use std::io::Read;

    use flate2::read::GzDecoder;

    use super::*;

    fn files(packing: Packing) -> Vec<(String, String)> {
        let bound = Bound {
            glue: "let jigwise_live = 1;".to_owned(),
            wasm: b"\0asm and more".to_vec(),
        };
        let packed = packed(WebCrate::LIVE, bound, packing).unwrap();
        let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
        let files = packed.files.iter();
        files
            .map(|(name, bytes)| (name.clone(), text(bytes)))
            .collect()
    }

    #[test]
    fn a_served_module_stands_beside_its_script() {
        let files = files(Packing::Served);
        assert_eq!(files[0].0, "live.js");
        assert!(
            files[0].1.contains("let jigwise_live = 1;"),
            "{}",
            files[0].1
        );
        assert!(!files[0].1.contains("__"), "{}", files[0].1);
        assert_eq!(
            files[1],
            ("live.wasm".to_owned(), "\0asm and more".to_owned())
        );
    }

    #[test]
    fn a_module_on_a_stick_is_text_that_unpacks_to_its_bytes() {
        let files = files(Packing::Stick);
        assert_eq!(files[1].0, "live-bytes.js");
        let text = files[1].1.split('"').nth(1).unwrap();
        let zipped = STANDARD.decode(text).unwrap();
        let mut raw = Vec::new();
        GzDecoder::new(&zipped[..]).read_to_end(&mut raw).unwrap();
        assert_eq!(raw, b"\0asm and more");
    }
}
