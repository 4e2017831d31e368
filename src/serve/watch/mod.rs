//! `watch`: the farm checked again whenever a text of it is saved.
//!
//! Comes in: a farm, and a channel that tells when to look again. Goes out: what each look found, to
//! whoever says it. It words nothing and writes no file.

mod ears;
mod news;
#[cfg(test)]
mod tests;

use std::{
    io,
    sync::{
        Arc,
        mpsc::{Receiver, RecvTimeoutError},
    },
    time::{Duration, Instant},
};

use chrono::{Days, NaiveDate, NaiveDateTime};

pub use ears::{Ears, Tell};
pub use news::{Away, News};

use crate::{
    read::Farm,
    session::{Checked, Session},
};

/// How often one look starts over because a folder came or went meanwhile; then the next look sees to it.
const LOOKS: usize = 8;

/// How a watch waits.
#[derive(Debug, Clone, Copy)]
pub struct Pace {
    /// How long nothing must happen before a save counts as finished: editors save in several steps.
    pub quiet: Duration,
    /// The longest that a stream of changes is let run before it is looked at.
    pub at_most: Duration,
    /// How often to look where no events come.
    pub poll: Duration,
    /// How often to look although events come: some disks announce only some changes.
    pub doubt: Duration,
}

impl Default for Pace {
    fn default() -> Self {
        Self {
            quiet: Duration::from_millis(30),
            at_most: Duration::from_millis(500),
            poll: Duration::from_secs(1),
            doubt: Duration::from_secs(10),
        }
    }
}

/// What a watch has to say.
#[derive(Debug)]
pub enum Said<'a> {
    /// The first check.
    Start {
        /// What it found.
        checked: &'a Checked,
    },
    /// A later check.
    Again {
        /// What it found.
        checked: &'a Checked,
        /// The check before.
        before: &'a Checked,
        /// Why it was checked.
        because: Because,
        /// What that changed.
        news: &'a News,
        /// From hearing of the change to here, without waiting for the save to finish.
        took: Duration,
    },
    /// Events do not come, so the folder is looked at again and again.
    Polling {
        /// Why.
        why: String,
        /// How often.
        every: Duration,
    },
}

/// Why a watch checked again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Because {
    /// These texts changed, came or went.
    Changed(Vec<Arc<str>>),
    /// A file became unreadable, or readable.
    Readable,
    /// A new day began.
    NewDay(NaiveDate),
}

/// A farm under watch.
pub struct Watch<'a> {
    farm: Farm,
    session: Session,
    ears: Ears,
    pace: Pace,
    now: &'a dyn Fn() -> NaiveDateTime,
    as_of: Option<NaiveDate>,
    stopped: bool,
}

impl<'a> Watch<'a> {
    /// A watch over `farm` that hears through `ears`. `now` tells the moment it is where the farm is; its
    /// day is the day the journal is read on. Entries after `as_of` are left out.
    pub fn over(
        farm: Farm,
        ears: Ears,
        pace: Pace,
        now: &'a dyn Fn() -> NaiveDateTime,
        as_of: Option<NaiveDate>,
    ) -> Self {
        Self { farm, session: Session::new(), ears, pace, now, as_of, stopped: false }
    }

    /// Watches until it is told to stop.
    ///
    /// # Errors
    /// What `say` gives, which ends the watch.
    pub fn run(
        mut self,
        inbox: &Receiver<Tell>,
        say: &mut dyn FnMut(Said<'_>) -> io::Result<()>,
    ) -> io::Result<()> {
        self.look();
        let mut today = (self.now)().date();
        let mut before = self.session.check(today, self.as_of);
        say(Said::Start { checked: &before })?;
        let mut told_deaf = false;
        // The last check before a file went away: when it comes back, that is what it is compared with.
        let mut held: Option<Checked> = None;
        loop {
            if let (Some(why), false) = (self.ears.deaf(), told_deaf) {
                say(Said::Polling { why: why.to_owned(), every: self.pace.poll })?;
                told_deaf = true;
            }
            let Some(heard) = self.wait(inbox) else { return Ok(()) };
            let started = Instant::now();
            let was_left_out = self.session.left_out().to_vec();
            let changed = self.look();
            let day = (self.now)().date();
            let because = if day != today {
                Because::NewDay(day)
            } else if !changed.is_empty() {
                Because::Changed(changed)
            } else if self.session.left_out() != was_left_out {
                Because::Readable
            } else {
                continue;
            };
            // Where something was left out the folder itself may have been away, and silent.
            let unannounced = !heard && day == today && was_left_out.is_empty() && self.ears.deaf().is_none();
            if unannounced && !self.stopped && !self.was_announced(inbox) {
                self.ears = Ears::shut("changes in this folder are not announced");
            }
            today = day;
            let checked = self.session.check(today, self.as_of);
            if let Some(whole) = held.take() {
                let missing = self.away(&whole, &checked);
                let for_good = missing.iter().all(|away| !away.unreadable);
                if missing.is_empty() {
                    before = whole;
                } else if !for_good || !self.away(&before, &checked).is_empty() {
                    held = Some(whole);
                }
            }
            let mut news = News::between(&before.report, &checked.report);
            news.away = self.away(&before, &checked);
            let took = started.elapsed();
            say(Said::Again { checked: &checked, before: &before, because, news: &news, took })?;
            let last = std::mem::replace(&mut before, checked);
            if !news.away.is_empty() && held.is_none() {
                held = Some(last);
            }
        }
    }

    /// The files that were read in one check and not in a later one.
    fn away(&self, before: &Checked, now: &Checked) -> Vec<Away> {
        let own = before.sources.iter().map(|(_, file)| file).filter(|file| !file.built_in);
        let gone = own.filter(|file| now.sources.find(&file.path).is_none());
        gone.map(|file| {
            let unreadable = self.session.left_out().iter().any(|left| left.path == file.path);
            Away { path: file.path.clone(), unreadable }
        })
        .collect()
    }

    /// Reads the farm, and again as long as folders come up whose changes went unheard so far.
    fn look(&mut self) -> Vec<Arc<str>> {
        let mut changed = Vec::new();
        for _ in 0..LOOKS {
            let reading = self.farm.read();
            let unheard = self.ears.attend(&reading.folders);
            changed.extend(self.session.set_reading(reading));
            if !unheard {
                break;
            }
        }
        changed.sort();
        changed.dedup();
        changed
    }

    /// Waits until it is time to look: true when something was heard, false when it is only time to
    /// make sure, `None` when the watch is to end.
    fn wait(&mut self, inbox: &Receiver<Tell>) -> Option<bool> {
        let mut heard = false;
        let mut patience = self.patience();
        let mut first = None;
        while !self.stopped && first.is_none_or(|f: Instant| f.elapsed() < self.pace.at_most) {
            match inbox.recv_timeout(patience) {
                Ok(tell) => self.hear(tell),
                Err(RecvTimeoutError::Timeout) => break,
                Err(RecvTimeoutError::Disconnected) => {
                    // Nobody is left to tell anything, not even to stop; looking goes on.
                    std::thread::sleep(patience);
                    break;
                }
            }
            heard = true;
            first.get_or_insert_with(Instant::now);
            patience = self.pace.quiet;
        }
        (!self.stopped).then_some(heard)
    }

    /// Takes in one thing told.
    fn hear(&mut self, tell: Tell) {
        match tell {
            Tell::Changed => {}
            Tell::Moved(path) => self.ears.forget(&path),
            Tell::Deaf(why) => self.ears = Ears::shut(why),
            Tell::Stop => self.stopped = true,
        }
    }

    /// Whether a change that was seen without being heard of is announced after all.
    fn was_announced(&mut self, inbox: &Receiver<Tell>) -> bool {
        let told = inbox.recv_timeout(self.pace.at_most);
        told.is_ok_and(|tell| {
            self.hear(tell);
            true
        })
    }

    /// How long to wait before looking unasked: until midnight at the latest.
    fn patience(&self) -> Duration {
        let unasked = if self.ears.deaf().is_some() || !self.session.left_out().is_empty() {
            self.pace.poll
        } else {
            self.pace.doubt
        };
        let now = (self.now)();
        let midnight = now.date().checked_add_days(Days::new(1)).and_then(|d| d.and_hms_opt(0, 0, 0));
        let left = midnight.and_then(|m| (m - now).to_std().ok()).unwrap_or(unasked);
        unasked.min(left + Duration::from_millis(5))
    }
}
