//! The thread that checks: sessions of all farms that are open, beside the one that talks.
//!
//! Comes in: texts as editors change them, and hints that the disk changed. Goes out: for each farm that
//! changed, what a check finds, with how far it had heard. Whatever waits is taken in before a check
//! begins, so that a check is never older than it must be. It knows no protocol.

use std::{collections::BTreeMap, sync::Arc, time::Duration};

use chrono::NaiveDate;
use crossbeam_channel::{Receiver, RecvTimeoutError, Sender};

use crate::{
    base::source::SourceFile,
    read::{Farm, Reading, kind_of},
    session::{Checked, Session},
};

/// How often to look whether a new day began.
const NEW_DAY: Duration = Duration::from_secs(20);

/// What the checker is told. Each counts up its farm's revision.
#[derive(Debug)]
pub struct Task {
    /// The farm's number.
    pub farm: u32,
    /// The farm's revision once this is done.
    pub revision: u64,
    /// What to do.
    pub what: What,
}

/// What to do.
#[derive(Debug)]
pub enum What {
    /// A farm is opened; without a place on the disk it has only the texts an editor holds.
    Open(Option<Farm>),
    /// An editor holds this text of a file.
    Text(Arc<str>, Arc<str>),
    /// An editor has let go of a file.
    LetGo(Arc<str>),
    /// Something may have changed on the disk.
    Look,
    /// The farm is no longer wanted.
    Close,
}

/// What a check found.
#[derive(Debug)]
pub struct Found {
    /// The farm's number.
    pub farm: u32,
    /// The revision it stands for.
    pub revision: u64,
    /// What was found.
    pub checked: Checked,
}

struct Held {
    farm: Option<Farm>,
    session: Session,
    open: BTreeMap<Arc<str>, Arc<str>>,
    revision: u64,
    /// Whether the disk is to be read again.
    look: bool,
    /// Whether anything changed since the last check.
    dirty: bool,
}

/// Checks until nobody tells anything any more, or nobody listens.
pub fn run(inbox: &Receiver<Task>, found: &Sender<Found>, today: &dyn Fn() -> NaiveDate) {
    let base = Session::new();
    let mut farms: BTreeMap<u32, Held> = BTreeMap::new();
    let mut day = today();
    loop {
        match inbox.recv_timeout(NEW_DAY) {
            Ok(task) => take(&mut farms, &base, task),
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => return,
        }
        let now = today();
        if now != day {
            day = now;
            farms.values_mut().for_each(|f| f.dirty = true);
        }
        loop {
            inbox.try_iter().for_each(|task| take(&mut farms, &base, task));
            let Some((number, held)) = farms.iter_mut().find(|(_, f)| f.dirty) else { break };
            let checked = held.check(day);
            let said = Found { farm: *number, revision: held.revision, checked };
            if found.send(said).is_err() {
                return;
            }
        }
    }
}

fn take(farms: &mut BTreeMap<u32, Held>, base: &Session, task: Task) {
    let Task { farm, revision, what } = task;
    match what {
        What::Open(place) => {
            let held = Held {
                farm: place,
                session: base.clone(),
                open: BTreeMap::new(),
                revision,
                look: true,
                dirty: true,
            };
            farms.insert(farm, held);
        }
        What::Close => {
            farms.remove(&farm);
        }
        What::Text(path, text) => tell(farms, farm, revision, |held| {
            held.session.set_text(&path, &text);
            held.open.insert(path, text);
        }),
        What::LetGo(path) => tell(farms, farm, revision, |held| {
            held.open.remove(&path);
            held.look = true;
        }),
        What::Look => tell(farms, farm, revision, |held| held.look = true),
    }
}

fn tell(farms: &mut BTreeMap<u32, Held>, farm: u32, revision: u64, change: impl FnOnce(&mut Held)) {
    if let Some(held) = farms.get_mut(&farm) {
        held.revision = revision;
        held.dirty = true;
        change(held);
    }
}

impl Held {
    fn check(&mut self, day: NaiveDate) -> Checked {
        if std::mem::take(&mut self.look) {
            let reading = self.farm.as_mut().map(Farm::read).unwrap_or_default();
            self.session.set_reading(over(reading, &self.open));
        }
        self.dirty = false;
        self.session.check(day, None)
    }
}

/// A reading of the disk with what editors hold laid over it.
fn over(mut reading: Reading, open: &BTreeMap<Arc<str>, Arc<str>>) -> Reading {
    reading.files.retain(|file| !open.contains_key(&file.path));
    reading.left_out.retain(|left| !open.contains_key(&left.path));
    let held = open.iter();
    reading.files.extend(
        held.map(|(path, text)| SourceFile::new(Arc::clone(path), Arc::clone(text), kind_of(path), false)),
    );
    reading
}
