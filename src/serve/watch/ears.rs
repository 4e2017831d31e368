//! How a watch hears of changes: the system's file events, folder by folder.
//!
//! Comes in: the folders to attend to. Goes out: a [`Tell`] on a channel whenever something in them may
//! have changed. It reads no file and trusts no event to be complete: it only says when to look again.

use std::{
    collections::BTreeSet,
    path::{Path, PathBuf},
    sync::mpsc::Sender,
};

use notify::{
    Event, EventKind, RecommendedWatcher, RecursiveMode, Watcher,
    event::{AccessKind, AccessMode, ModifyKind},
};

/// What a watch is told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Tell {
    /// Something that is read may have changed.
    Changed,
    /// What lay at a path went away or was moved; if it was a folder, it is no longer attended to.
    Moved(PathBuf),
    /// Events can no longer be relied on, for this reason.
    Deaf(String),
    /// The watch is to end.
    Stop,
}

/// The system's file events, or none and the reason.
pub struct Ears {
    watcher: Result<RecommendedWatcher, String>,
    attended: BTreeSet<PathBuf>,
}

impl Ears {
    /// Asks the system for events, to be told on `inbox`.
    pub fn open(inbox: Sender<Tell>) -> Self {
        let watcher = notify::recommended_watcher(move |event: notify::Result<Event>| {
            let tells = match event {
                Ok(event) => tells(event),
                Err(e) => vec![Tell::Deaf(e.to_string())],
            };
            for tell in tells {
                // The watch may have ended already; then nobody needs to know.
                let _ = inbox.send(tell);
            }
        });
        Self { watcher: watcher.map_err(|e| e.to_string()), attended: BTreeSet::new() }
    }

    /// No events at all.
    pub fn shut(reason: impl Into<String>) -> Self {
        Self { watcher: Err(reason.into()), attended: BTreeSet::new() }
    }

    /// Why no events come, if none do.
    pub fn deaf(&self) -> Option<&str> {
        self.watcher.as_ref().err().map(String::as_str)
    }

    /// Attends to these folders and no others. True if a folder was added: what changed in it before
    /// went unheard, so it wants another look.
    ///
    /// Folders are attended to one by one, not whole trees, so that hidden and foreign folders cost
    /// nothing and every new folder is looked into after its events have begun.
    pub fn attend(&mut self, folders: &BTreeSet<PathBuf>) -> bool {
        let Ok(watcher) = &mut self.watcher else { return false };
        let wanted: BTreeSet<PathBuf> = folders.iter().map(|f| whole_path(f)).collect();
        let mut added = false;
        let mut trouble = None;
        let mut paths = watcher.paths_mut();
        for gone in self.attended.difference(&wanted) {
            // The system may have forgotten it already.
            let _ = paths.remove(gone);
        }
        self.attended.retain(|f| wanted.contains(f));
        for folder in wanted {
            if self.attended.contains(&folder) {
                continue;
            }
            match paths.add(&folder, RecursiveMode::NonRecursive) {
                Ok(()) => {
                    added = true;
                    self.attended.insert(folder);
                }
                // It went away between the reading and now; the next reading will say so.
                Err(e) if is_gone(&e) => added = true,
                Err(e) => trouble = Some(e.to_string()),
            }
        }
        let committed = paths.commit();
        if let Some(reason) = trouble.or_else(|| committed.err().map(|e| e.to_string())) {
            *self = Self::shut(reason);
        }
        added
    }

    /// Notes that what lay at a path is no longer there, so that a folder put in its place is attended to anew.
    pub fn forget(&mut self, path: &Path) {
        let path = whole_path(path);
        let gone: Vec<PathBuf> = self.attended.iter().filter(|f| f.starts_with(&path)).cloned().collect();
        for folder in gone {
            if let Ok(watcher) = &mut self.watcher {
                let _ = watcher.unwatch(&folder);
            }
            self.attended.remove(&folder);
        }
    }
}

/// The path from the root of the disk, so that what is asked for and what is told are spelt alike.
fn whole_path(path: &Path) -> PathBuf {
    std::path::absolute(path).unwrap_or_else(|_| path.to_owned())
}

fn is_gone(error: &notify::Error) -> bool {
    match &error.kind {
        notify::ErrorKind::PathNotFound | notify::ErrorKind::WatchNotFound => true,
        notify::ErrorKind::Io(e) => e.kind() == std::io::ErrorKind::NotFound,
        _ => false,
    }
}

/// What an event tells. Our own reading opens files: those events must not lead to another reading.
fn tells(event: Event) -> Vec<Tell> {
    if event.need_rescan() {
        return vec![Tell::Changed];
    }
    match event.kind {
        EventKind::Access(AccessKind::Close(AccessMode::Write)) | EventKind::Modify(ModifyKind::Data(_)) => {
            if event.paths.iter().any(|p| may_be_read(p)) {
                vec![Tell::Changed]
            } else {
                Vec::new()
            }
        }
        EventKind::Access(_) => Vec::new(),
        EventKind::Remove(_) | EventKind::Modify(ModifyKind::Name(_)) => {
            event.paths.into_iter().map(Tell::Moved).collect()
        }
        EventKind::Create(_) | EventKind::Modify(_) | EventKind::Any | EventKind::Other => {
            if event.paths.iter().all(|p| is_hidden(p)) { Vec::new() } else { vec![Tell::Changed] }
        }
    }
}

/// Whether a file whose content changed may be one that is read.
fn may_be_read(path: &Path) -> bool {
    !is_hidden(path) && path.extension().is_some_and(|e| e.eq_ignore_ascii_case("md"))
}

fn is_hidden(path: &Path) -> bool {
    path.file_name().is_some_and(|name| name.as_encoded_bytes().starts_with(b"."))
}

#[cfg(test)]
mod tests {
    use notify::event::{CreateKind, DataChange, RemoveKind, RenameMode};

    use super::*;

    fn heard(kind: EventKind, paths: &[&str]) -> Vec<Tell> {
        let mut event = Event::new(kind);
        event.paths = paths.iter().map(PathBuf::from).collect();
        tells(event)
    }

    #[test]
    fn reading_a_file_tells_nothing_and_writing_one_does() {
        let open = EventKind::Access(AccessKind::Open(AccessMode::Any));
        let closed_after_reading = EventKind::Access(AccessKind::Close(AccessMode::Read));
        let closed_after_writing = EventKind::Access(AccessKind::Close(AccessMode::Write));
        let written = EventKind::Modify(ModifyKind::Data(DataChange::Any));
        assert_eq!(heard(open, &["/f/spring.md"]), []);
        assert_eq!(heard(closed_after_reading, &["/f/spring.md"]), []);
        assert_eq!(heard(closed_after_writing, &["/f/spring.md"]), [Tell::Changed]);
        assert_eq!(heard(written, &["/f/spring.md"]), [Tell::Changed]);
        assert_eq!(heard(written, &["/f/.spring.md.swp"]), []);
        assert_eq!(heard(written, &["/f/photo.jpg"]), []);
    }

    #[test]
    fn a_rename_over_the_journal_and_a_new_folder_are_told() {
        let both = EventKind::Modify(ModifyKind::Name(RenameMode::Both));
        let moved = |p: &str| Tell::Moved(PathBuf::from(p));
        assert_eq!(heard(both, &["/f/.tmp", "/f/spring.md"]), [moved("/f/.tmp"), moved("/f/spring.md")]);
        assert_eq!(heard(EventKind::Create(CreateKind::Folder), &["/f/2027"]), [Tell::Changed]);
        assert_eq!(heard(EventKind::Remove(RemoveKind::Folder), &["/f"]), [moved("/f")]);
    }
}
