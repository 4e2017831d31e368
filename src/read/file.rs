//! One file's text, or why there is none.
//!
//! Comes in: a path or a stream. Goes out: text, or a reason in plain words.

use std::{
    fs::{self, File},
    io::{self, Read},
    path::Path,
};

/// The largest text that is read, in bytes. A diary of twenty years has about a tenth of it.
pub const MAX_BYTES: u64 = 64 * 1024 * 1024;

/// Reads an ordinary file. Pipes and devices found in a folder are refused, since reading one may never end.
///
/// # Errors
/// The reason, as the end of the sentence "spring.md was left out: …".
pub(super) fn text_of_file(path: &Path) -> Result<String, String> {
    // Asked before opening: opening a pipe waits for a writer.
    if !fs::metadata(path).map_err(|e| reason(&e))?.is_file() {
        return Err("it is not an ordinary file".to_owned());
    }
    text_of_stream(File::open(path).map_err(|e| reason(&e))?)
}

/// Reads a stream to its end, or to a little past the limit.
///
/// # Errors
/// The reason, as above.
pub(super) fn text_of_stream(stream: impl Read) -> Result<String, String> {
    let mut bytes = Vec::new();
    stream.take(MAX_BYTES + 1).read_to_end(&mut bytes).map_err(|e| reason(&e))?;
    if bytes.len() as u64 > MAX_BYTES {
        return Err(format!("it is larger than {} MiB", MAX_BYTES / 1024 / 1024));
    }
    // What a machine leaves that stopped while it saved.
    if !bytes.is_empty() && bytes.iter().all(|b| *b == 0) {
        return Err("it holds nothing but zero bytes: its saving was cut short, or it is no text".to_owned());
    }
    String::from_utf8(bytes).map_err(|e| not_utf8(e.as_bytes(), e.utf8_error().valid_up_to()))
}

fn not_utf8(bytes: &[u8], valid_up_to: usize) -> String {
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return "it is saved as UTF-16; save it as UTF-8".to_owned();
    }
    let line = bytes.iter().take(valid_up_to).filter(|b| **b == b'\n').count() + 1;
    format!("line {line} is not UTF-8 text; save the file as UTF-8")
}

/// Why a file cannot be read, in plain words.
pub(super) fn reason(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file".to_owned(),
        io::ErrorKind::PermissionDenied => "reading it is not permitted".to_owned(),
        _ => error.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_that_is_not_utf8_is_refused_with_its_line() {
        let said = text_of_stream(&b"## 2026-03-14\n- noted caf\xe9\n"[..]);
        assert_eq!(said, Err("line 2 is not UTF-8 text; save the file as UTF-8".to_owned()));
        let wide = text_of_stream(&[0xff, 0xfe, b'a', 0][..]);
        assert_eq!(wide, Err("it is saved as UTF-16; save it as UTF-8".to_owned()));
    }

    #[test]
    fn a_file_of_zero_bytes_is_no_empty_diary() {
        let said = text_of_stream(&[0; 4096][..]).expect_err("no text");
        assert!(said.contains("zero bytes"), "{said}");
        assert_eq!(text_of_stream(&b""[..]), Ok(String::new()));
    }

    #[test]
    fn a_text_past_the_limit_is_refused_and_one_at_the_limit_is_read() {
        let spaces = |n| io::repeat(b' ').take(n);
        assert_eq!(text_of_stream(spaces(MAX_BYTES)).map(|t| t.len() as u64), Ok(MAX_BYTES));
        assert_eq!(text_of_stream(spaces(MAX_BYTES + 1)), Err("it is larger than 64 MiB".to_owned()));
    }
}
