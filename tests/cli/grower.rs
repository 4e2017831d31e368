//! A grower with a folder of notes, and the program run as they would run it.

use std::{
    fs,
    io::Write,
    path::{Path, PathBuf},
    process::{Command, Stdio},
};

use tempfile::TempDir;

/// What a command said.
#[derive(Debug, PartialEq, Eq)]
pub struct Answer {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Answer {
    /// Fails unless the command ended so.
    pub fn ended(self, code: i32) -> Self {
        assert_eq!(self.code, code, "said:\n{}\n{}", self.out, self.err);
        self
    }

    /// Fails unless the answer holds these words.
    pub fn says(self, words: &str) -> Self {
        assert!(self.out.contains(words), "no {words:?} in:\n{}", self.out);
        self
    }

    /// Fails if the answer holds these words.
    pub fn says_nothing_of(self, words: &str) -> Self {
        assert!(!self.out.contains(words), "{words:?} in:\n{}", self.out);
        self
    }

    /// Fails unless standard error holds these words.
    pub fn complains(self, words: &str) -> Self {
        assert!(self.err.contains(words), "no {words:?} in:\n{}", self.err);
        self
    }
}

/// A folder of notes.
pub struct Notes {
    dir: TempDir,
}

impl Notes {
    pub fn with(files: &[(&str, &str)]) -> Self {
        let notes = Self { dir: tempfile::tempdir().expect("a temporary folder") };
        for (name, text) in files {
            notes.save(name, text);
        }
        notes
    }

    pub fn path(&self) -> &Path {
        self.dir.path()
    }

    pub fn at(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    pub fn save(&self, name: &str, text: impl AsRef<[u8]>) {
        let path = self.at(name);
        fs::create_dir_all(path.parent().expect("a parent")).expect("a folder");
        fs::write(path, text).expect("a file");
    }

    /// The program run in this folder.
    pub fn haulm(&self, args: &[&str]) -> Answer {
        answer(command(self.path(), args), "")
    }

    /// The same, with text on standard input.
    pub fn haulm_reading(&self, args: &[&str], input: &str) -> Answer {
        answer(command(self.path(), args), input)
    }
}

/// The program, to be run in a folder, with nothing of this machine's settings about it.
pub fn command(folder: &Path, args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_haulm"));
    command.current_dir(folder).args(args);
    command.env_remove("NO_COLOR").env_remove("TERM").env("TZ", "UTC");
    command
}

/// The package's own folder, where the demonstration journal lies.
pub fn package() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Runs a command to its end.
pub fn answer(mut command: Command, input: &str) -> Answer {
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().expect("the program starts");
    let mut stdin = child.stdin.take().expect("a standard input");
    // A program that does not read its input may have ended before it is written.
    let _ = stdin.write_all(input.as_bytes());
    drop(stdin);
    let done = child.wait_with_output().expect("the program ends");
    let text = |bytes| String::from_utf8(bytes).expect("UTF-8 comes out");
    Answer { code: done.status.code().unwrap_or(-1), out: text(done.stdout), err: text(done.stderr) }
}
