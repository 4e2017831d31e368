//! Names of files as editors send them.
//!
//! Comes in: a `file:` name, or a path. Goes out: the other of the two. It looks at no disk.

use std::path::{Path, PathBuf};

use lsp_types::Uri;

/// The path of a `file:` name; `None` for any other name.
pub fn path(uri: &str) -> Option<PathBuf> {
    let rest = uri.strip_prefix("file://")?;
    // A host may stand before the path; it is this machine.
    let path = rest.get(rest.find('/')?..)?;
    let path = path.split(['?', '#']).next()?;
    let decoded = decode(path)?;
    let drive = decoded.as_bytes().get(2) == Some(&b':');
    let plain = if cfg!(windows) && drive { decoded.get(1..)?.to_owned() } else { decoded };
    Some(PathBuf::from(plain))
}

/// The `file:` name of a path, which should be absolute; `None` if it is not text.
pub fn of(path: &Path) -> Option<Uri> {
    let text = path.to_str()?;
    let mut out = String::from("file://");
    let text = if cfg!(windows) { text.replace('\\', "/") } else { text.to_owned() };
    if !text.starts_with('/') {
        out.push('/');
    }
    for b in text.bytes() {
        if b.is_ascii_alphanumeric() || b"/-._~".contains(&b) {
            out.push(char::from(b));
        } else {
            out.push_str(&format!("%{b:02X}"));
        }
    }
    out.parse().ok()
}

fn decode(text: &str) -> Option<String> {
    let mut out = Vec::with_capacity(text.len());
    let mut rest = text.as_bytes();
    while let Some((first, after)) = rest.split_first() {
        let hex =
            if *first == b'%' { after.get(..2).and_then(|h| std::str::from_utf8(h).ok()) } else { None };
        match hex.and_then(|h| u8::from_str_radix(h, 16).ok()) {
            Some(byte) => {
                out.push(byte);
                rest = after.get(2..).unwrap_or_default();
            }
            None => {
                out.push(*first);
                rest = after;
            }
        }
    }
    String::from_utf8(out).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_path_comes_back_from_its_name() {
        for text in ["/a/b.md", "/my notes/é 100%/a#b?.md", "/a:b/[x].md"] {
            let uri = of(Path::new(text)).expect("a name");
            assert_eq!(path(uri.as_str()), Some(PathBuf::from(text)), "{}", uri.as_str());
        }
    }

    #[test]
    fn names_are_read_however_they_are_spelt() {
        assert_eq!(path("file://localhost/a%20b.md"), Some(PathBuf::from("/a b.md")));
        assert_eq!(path("file:///a%2"), Some(PathBuf::from("/a%2")));
        assert_eq!(path("untitled:one"), None);
        assert_eq!(path("file:///%ff"), None);
        assert_eq!(path("file://"), None);
    }
}
