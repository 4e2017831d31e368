//! The names of a journal: found wherever an entry begins, declares or mentions one.
//!
//! Comes in: every entry's line and its frame, file by file, and what a file gave before. Goes out: known
//! names by folded spelling, with kind and beginning. It judges no name; an unknown lot is known here as one
//! that never began. A file in which nothing changed, and no name it asked for, gives what it gave.

use std::{collections::BTreeMap, sync::Arc};

use rustc_hash::FxHashSet;

use super::{
    asked::{Asked, Changes, Listener},
    atoms::{AtomTable, PieceAtoms, atoms},
    declared::declared,
    kinds::{PLACES, kind_word, suits},
    line::Line,
};
use crate::{
    base::span::Loc,
    measure::value::Thing,
    model::{
        frame::{Frame, FrameKind, Lead, Several, Takes},
        journal::{Item, PieceKind},
    },
};

/// A thing the journal names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Known {
    /// Kind and name.
    pub thing: Thing,
    /// Where it is declared or made (`as lot …`); `None` for a name only mentioned.
    pub began: Option<Loc>,
    /// Where it is first mentioned.
    pub first: Loc,
}

/// All names of a journal.
#[derive(Debug, Clone, Default)]
pub struct Names {
    table: AtomTable<Vec<usize>>,
    known: Vec<Known>,
    /// The farm's own container words (`unit barrow, 80 l`).
    units: AtomTable<Option<Arc<str>>>,
    /// The beds declared in each room, in order of the journal.
    rooms: BTreeMap<Thing, Vec<Thing>>,
    /// Names known by nothing but a word such as `from` before them, by number: a person's name wins over one.
    loose: FxHashSet<usize>,
    /// Where a room was said for a bed: the bed and the room's name.
    housed: Vec<(Thing, Thing)>,
    /// What the file under way adds.
    adds: Vec<Add>,
    added: FxHashSet<(Box<str>, Vec<Box<str>>)>,
    /// The container words it adds.
    own_units: Vec<OwnUnit>,
    listener: Listener,
}

/// One name that a file adds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Add {
    pub(super) atoms: Vec<Box<str>>,
    pub(super) kind: Box<str>,
    pub(super) name: Box<str>,
    pub(super) began: bool,
    /// Whether only a word before it tells that it is a name.
    pub(super) guessed: bool,
    loc: Loc,
}

/// A unit a farm declares: the atoms it may be written in, and its name.
type OwnUnit = (Vec<Box<str>>, Arc<str>);

/// What one file gave to the names, and what it asked of those before it.
#[derive(Debug, Clone, Default)]
pub struct Given {
    began: Arc<[Add]>,
    units: Arc<[OwnUnit]>,
    mentions: Arc<[Add]>,
    housed: Arc<[(Thing, Thing)]>,
    people: Arc<[Add]>,
    /// For its mentions, and for its people.
    asked: [Arc<Asked>; 2],
}

/// A file as its names are looked for.
pub struct NamedFile<'a, F> {
    /// What it gave before, and whether its text is still what it was then.
    pub before: Option<(&'a Given, bool)>,
    /// Its entries, in order.
    pub entries: F,
}

/// An entry as names are looked for in it.
pub type Entry<'a> = (&'a Item, &'a Frame, &'a Line<'a>);

impl Names {
    /// Every name of these files, what each of them gives, and which names are no longer as they were.
    /// `gone` gave some before and is no more.
    pub fn of<'a, F>(files: &[NamedFile<'a, F>], gone: &[&Given]) -> (Self, Vec<Given>, Changes)
    where
        F: Fn() -> &'a [Entry<'a>],
    {
        let mut out = Self::default();
        let mut changes = Changes::default();
        let mut given: Vec<Given> = files.iter().map(|_| Given::default()).collect();
        for gone in gone {
            for adds in [&gone.began, &gone.mentions, &gone.people] {
                changes.between(adds, &[]);
            }
            if !gone.units.is_empty() || !gone.housed.is_empty() {
                changes.everything();
            }
        }
        let nothing = Given::default();
        // Names that begin somewhere come first: they decide where a mention ends.
        for (file, given) in files.iter().zip(&mut given) {
            let (before, same) = file.before.unwrap_or((&nothing, false));
            if same {
                out.again(&before.began);
                before.units.iter().for_each(|(atoms, name)| out.add_unit(atoms, name));
                given.began = Arc::clone(&before.began);
                given.units = Arc::clone(&before.units);
                continue;
            }
            (file.entries)().iter().for_each(|entry| out.beginnings(*entry));
            given.began = out.taken();
            given.units = std::mem::take(&mut out.own_units).into();
            changes.between(&before.began, &given.began);
            if before.units != given.units {
                changes.everything();
            }
        }
        for (file, given) in files.iter().zip(&mut given) {
            let (before, same) = file.before.unwrap_or((&nothing, false));
            let [asked, _] = &before.asked;
            if same && !changes.touch(asked) {
                out.again(&before.mentions);
                out.housed.extend(before.housed.iter().cloned());
                given.mentions = Arc::clone(&before.mentions);
                given.housed = Arc::clone(&before.housed);
                given.asked[0] = Arc::clone(asked);
                continue;
            }
            let housed = out.housed.len();
            (file.entries)().iter().for_each(|entry| out.mentions(*entry));
            given.mentions = out.taken();
            given.housed = out.housed.get(housed..).unwrap_or_default().into();
            given.asked[0] = Arc::new(out.listener.take());
            changes.between(&before.mentions, &given.mentions);
            if before.housed != given.housed {
                changes.everything();
            }
        }
        for (file, given) in files.iter().zip(&mut given) {
            let (before, same) = file.before.unwrap_or((&nothing, false));
            let [_, asked] = &before.asked;
            if same && !changes.touch(asked) {
                out.again(&before.people);
                given.people = Arc::clone(&before.people);
                given.asked[1] = Arc::clone(asked);
                continue;
            }
            (file.entries)().iter().for_each(|entry| out.people(*entry));
            given.people = out.taken();
            given.asked[1] = Arc::new(out.listener.take());
            changes.between(&before.people, &given.people);
        }
        out.settle();
        let housed = std::mem::take(&mut out.housed);
        for (bed, room) in housed {
            if let Some(known) = out.whole(&room.name, |k| k == "room") {
                let known = known.thing.clone();
                out.rooms.entry(known).or_default().push(bed);
            }
        }
        out.listener.take();
        (out, given, changes)
    }

    /// What was asked since this was last called.
    pub fn asked(&self) -> Asked {
        self.listener.take()
    }

    /// Adds what a file added before.
    fn again(&mut self, adds: &[Add]) {
        adds.iter().for_each(|add| self.put(add));
    }

    /// What the file under way added.
    fn taken(&mut self) -> Arc<[Add]> {
        self.added.clear();
        std::mem::take(&mut self.adds).into()
    }

    fn add(&mut self, kind: &str, name: &str, loc: Loc, began: bool) {
        self.add_as(kind, name, loc, began, false);
    }

    fn add_as(&mut self, kind: &str, name: &str, loc: Loc, began: bool, guessed: bool) {
        let add = Add { atoms: atoms(name), kind: kind.into(), name: name.into(), began, guessed, loc };
        self.put(&add);
        // A name said again in the same file adds nothing.
        if self.added.insert((add.kind.clone(), add.atoms.clone())) {
            self.adds.push(add);
        }
    }

    fn put(&mut self, add: &Add) {
        let Add { atoms, kind, name, began, guessed, loc } = add;
        let Some(numbers) = self.table.entry(atoms) else { return };
        let same =
            numbers.iter().copied().find(|n| self.known.get(*n).is_some_and(|k| *k.thing.kind == **kind));
        match same.and_then(|n| self.known.get_mut(n)) {
            Some(known) => {
                if *began && known.began.is_none() {
                    known.began = Some(*loc);
                }
            }
            None => {
                numbers.push(self.known.len());
                if *guessed {
                    self.loose.insert(self.known.len());
                }
                self.known.push(Known {
                    thing: Thing { kind: (**kind).into(), name: (**name).into() },
                    began: began.then_some(*loc),
                    first: *loc,
                });
            }
        }
    }

    fn add_unit(&mut self, atoms: &[Box<str>], name: &Arc<str>) {
        if let Some(unit) = self.units.entry(atoms) {
            unit.get_or_insert_with(|| Arc::clone(name));
        }
    }

    /// `bed north-1`, `as lot tern-26`, `unit barrow`.
    fn beginnings(&mut self, (item, frame, line): Entry<'_>) {
        if frame.kind == FrameKind::Place {
            let Some(found) = declared(line, &item.written) else { return };
            if *frame.verb == *"unit" {
                let name = line.slice(0, found.next);
                let all = atoms(&name);
                let name: Arc<str> = name.into();
                let mut forms = all.clone();
                let Some(last) = forms.pop() else { return };
                for form in super::atoms::number_forms(&last) {
                    forms.push(form.into());
                    self.add_unit(&forms, &name);
                    self.own_units.push((forms.clone(), Arc::clone(&name)));
                    forms.pop();
                }
                return;
            }
            let kind = kind_word(&item.written).map_or(&*item.written, |(k, _)| k);
            for (name, from, to) in &found.names {
                self.add(kind, name, line.loc(*from, *to), true);
            }
            return;
        }
        if frame.kind == FrameKind::Bookkeeping && *frame.verb != *"correct" {
            return;
        }
        let mut at = 0;
        while at < line.len() {
            if line.is(at, "as") {
                at = self.beginning(frame, line, at + 1);
            } else {
                at += 1;
            }
        }
    }

    fn beginning(&mut self, frame: &Frame, line: &Line<'_>, from: usize) -> usize {
        let at = line.are(from, "control of").or_else(|| line.are(from, "a control of")).unwrap_or(from);
        let (kind, at) = match line.marks(at).kind {
            Some((kind, _)) if line.name_end(at + 1, line.len(), true).is_some() => (kind.to_owned(), at + 1),
            _ => {
                let made = frame.slots.iter().find_map(|s| {
                    let leads = s.leads.iter().any(|l| matches!(l, Lead::Word(w) if **w == *"as"));
                    s.takes.iter().find_map(|t| match t {
                        Takes::New(Some(kind)) if leads => Some(kind.to_string()),
                        _ => None,
                    })
                });
                let Some(kind) = made.filter(|_| !line.is(at, "control")) else { return from };
                (kind, at)
            }
        };
        let Some(end) = line.name_end(at, line.len(), true) else { return from };
        self.add(&kind, &line.slice(at, end), line.loc(at, end), true);
        end
    }

    /// `lot tern-62`, `April tray`, `in east tunnel`, `to goats`.
    fn mentions(&mut self, entry: Entry<'_>) {
        let (_, frame, line) = entry;
        let until = reach(frame, line);
        if frame.kind == FrameKind::Bookkeeping && !matches!(&*frame.verb, "correct" | "allow") {
            return;
        }
        let mut run = None;
        let mut at = if frame.kind == FrameKind::Place {
            declared(line, &entry.0.written).map_or(0, |d| d.next)
        } else {
            0
        };
        while at < until {
            let bare = !matches!(line.kind(at), Some(PieceKind::Number(_)));
            if let Some(next) = self.at(&line.atoms, at, until, |_| bare).map(|(_, next)| next) {
                run = None;
                at = next;
                continue;
            }
            match line.marks(at).kind {
                Some((kind, many)) if line.name_end(at + 1, until, true).is_some() => {
                    at = self.named(line, kind, many, at + 1, until);
                    run = None;
                    continue;
                }
                Some((kind, false)) => {
                    // The kind word stands last: `from April tray`.
                    if let Some(from) = run.map(|r| line.past_determiners(r, at)).filter(|r| *r < at) {
                        self.add(kind, &line.slice(from, at), line.loc(from, at), false);
                    }
                    run = None;
                }
                _ if line.leads_clause(at) => {
                    run = Some(at + 1);
                    if let Some(next) = self.only_kind(entry, at, until) {
                        at = next;
                        run = None;
                        continue;
                    }
                }
                _ if line.kind(at) != Some(&PieceKind::Word) => run = None,
                _ => {}
            }
            at += 1;
        }
    }

    /// Names after a kind word, several after its plural; numbers after a plural name known ones.
    fn named(&mut self, line: &Line<'_>, kind: &str, many: bool, from: usize, until: usize) -> usize {
        let mut at = from;
        loop {
            let Some(end) = line.name_end(at, until, many) else { return at };
            let number = matches!(line.kind(at), Some(PieceKind::Number(_))) && end == at + 1;
            // `test 4 of 4` counts pots.
            let counts = number && kind == "test" && line.is(end, "of");
            if self.at(&line.atoms, at, until, |k| k == kind).is_none() && !(many && number) && !counts {
                self.add(kind, &line.slice(at, end), line.loc(at, end), false);
            }
            at = end;
            if !many || !line.joins(at) || matches!(line.kind(at), Some(PieceKind::Comma)) {
                return at;
            }
            at += 1;
        }
    }

    /// A name after a word that can only lead to one kind here: `in east tunnel` of a bed.
    fn only_kind(&mut self, entry: Entry<'_>, at: usize, until: usize) -> Option<usize> {
        let (_, frame, line) = entry;
        let word = line.word(at);
        let mut slots = frame.slots.iter().filter(|s| leads_with(&s.leads, word));
        let (slot, None) = (slots.next()?, slots.next()) else { return None };
        let [Takes::Thing(kind)] = &slot.takes[..] else { return None };
        if kind.chars().any(char::is_uppercase) || **kind == *"thing" {
            return None;
        }
        let from = line.past_determiners(at + 1, until);
        if line.marks(from).kind.is_some() {
            return None;
        }
        let next = match self.at(&line.atoms, from, until, |k| k == &**kind) {
            Some((known, next)) => {
                let room = known.thing.clone();
                self.house(entry, &room);
                return Some(next);
            }
            None => line.name_end(from, until, true)?,
        };
        let name = line.slice(from, next);
        self.add_as(kind, &name, line.loc(from, next), false, true);
        self.house(entry, &Thing { kind: kind.clone(), name: name.into() });
        Some(next)
    }

    /// Remembers that the place this entry declares lies in a room.
    fn house(&mut self, (item, frame, line): Entry<'_>, room: &Thing) {
        if frame.kind != FrameKind::Place || *room.kind != *"room" {
            return;
        }
        for (name, ..) in declared(line, &item.written).map(|d| d.names).unwrap_or_default() {
            let bed = self.whole(&name, |k| PLACES.contains(&k) && k != "room").map(|k| k.thing.clone());
            self.housed.extend(bed.map(|bed| (bed, room.clone())));
        }
    }

    /// Whoever something comes from, goes to, or is said by.
    fn people(&mut self, (item, frame, line): Entry<'_>) {
        if frame.kind != FrameKind::Event {
            return;
        }
        let until = reach(frame, line);
        for slot in &frame.slots {
            if !slot.takes.iter().any(|t| matches!(t, Takes::Thing(k) if **k == *"WHO")) {
                continue;
            }
            let splits = slot.several == Several::List;
            if slot.leads.contains(&Lead::First) && !frame.everyday.holds(&item.written) {
                self.person(line, 0, until, splits);
            }
            for at in 0..until {
                let made_from = at > 0 && line.is(at - 1, "made");
                // Where a tray may follow as well, only a name with a capital is a person's.
                let shared =
                    frame.slots.iter().any(|s| s.name != slot.name && leads_with(&s.leads, line.word(at)));
                let open = !shared || line.capital(line.past_determiners(at + 1, until));
                if leads_with(&slot.leads, line.word(at)) && !made_from && open {
                    self.person(line, at + 1, until, splits);
                }
            }
        }
        if frame.slots.iter().any(|s| leads_with(&s.leads, "by")) {
            return;
        }
        for at in 0..until {
            if line.is(at, "by") && !matches!(line.kind(at + 1), Some(PieceKind::Number(_))) {
                self.person(line, at + 1, until, false);
            }
        }
    }

    fn person(&mut self, line: &Line<'_>, from: usize, until: usize, splits: bool) {
        let mut at = line.past_determiners(from, until);
        loop {
            // `Field Stores` is a firm, `field stores` would be a place.
            let other = line.marks(at).kind.is_some() && !line.titled(at)
                || !matches!(line.kind(at), Some(PieceKind::Word | PieceKind::Quoted(_)))
                || matches!(line.word(at), "someone" | "somebody" | "me" | "us" | "myself");
            let known = self.firm(line, at, until).map(|(k, n)| (&*k.thing.kind == "person", n));
            let whole = line.name_end(at, until, false);
            let end = match known {
                // A longer new name may begin with a known one (`Tern Quay Soils`, `Tern`).
                Some((person, n)) if !person || whole.is_none_or(|w| w <= n) => n,
                _ if other => return,
                _ => match line.name_end(at, until, splits) {
                    Some(end) => {
                        self.add("person", &line.slice(at, end), line.loc(at, end), false);
                        end
                    }
                    None => return,
                },
            };
            if !splits || !line.joins(end) {
                return;
            }
            at = end + 1;
        }
    }

    /// The longest name at a piece that is known by more than a word before it.
    fn firm(&self, line: &Line<'_>, from: usize, until: usize) -> Option<(&Known, usize)> {
        self.listener.line(&line.atoms);
        self.table.at(&line.atoms, from, until).find_map(|(numbers, next)| {
            let firm = |n: &&usize| {
                self.known.get(**n).is_some_and(|k| k.began.is_some() || !self.loose.contains(*n))
            };
            Some((self.known.get(*numbers.iter().find(firm)?)?, next))
        })
    }

    /// The longest name at a piece that has a thing of a kind that `fits`, and the piece after it.
    pub fn at<'a>(
        &'a self,
        pieces: &Arc<PieceAtoms>,
        from: usize,
        until: usize,
        fits: impl Fn(&str) -> bool,
    ) -> Option<(&'a Known, usize)> {
        self.listener.line(pieces);
        self.table.at(pieces, from, until).find_map(|(numbers, next)| {
            let known = numbers.iter().filter_map(|n| self.known.get(*n)).find(|k| fits(&k.thing.kind))?;
            Some((known, next))
        })
    }

    /// Forgets what was only guessed of a name that turned out to be a person's.
    fn settle(&mut self) {
        let (known, loose) = (&self.known, &self.loose);
        let person = |n: &usize| known.get(*n).is_some_and(|k| *k.thing.kind == *"person");
        let guessed = |n: &usize| loose.contains(n) && known.get(*n).is_some_and(|k| k.began.is_none());
        self.table.each(|numbers| {
            if numbers.iter().any(person) {
                numbers.retain(|n| !guessed(n));
            }
        });
    }

    /// The thing of that name and of a kind that `fits`.
    pub fn whole(&self, name: &str, fits: impl Fn(&str) -> bool) -> Option<&Known> {
        let atoms = atoms(name).join(" ");
        self.listener.name(&atoms);
        let numbers = self.table.joined(&atoms)?;
        numbers.iter().filter_map(|n| self.known.get(*n)).find(|k| fits(&k.thing.kind))
    }

    /// The farm's own container word at a piece.
    pub fn unit_at<'a>(
        &'a self,
        pieces: &Arc<PieceAtoms>,
        from: usize,
        until: usize,
    ) -> Option<(&'a Arc<str>, usize)> {
        self.listener.line(pieces);
        self.units.at(pieces, from, until).find_map(|(name, next)| name.as_ref().map(|n| (n, next)))
    }

    /// Every known thing, in order of first mention.
    pub fn all(&self) -> &[Known] {
        self.listener.all();
        &self.known
    }

    /// The beds declared in a room.
    pub fn beds_in(&self, room: &Thing) -> &[Thing] {
        self.listener.all();
        self.rooms.get(room).map_or(&[], Vec::as_slice)
    }

    /// Things of a kind that suits a slot.
    pub fn suiting(&self, takes: &str) -> impl Iterator<Item = &Known> {
        self.listener.all();
        self.known.iter().filter(move |k| suits(takes, &k.thing.kind))
    }
}

fn leads_with(leads: &[Lead], word: &str) -> bool {
    !word.is_empty() && leads.iter().any(|l| matches!(l, Lead::Word(w) if **w == *word))
}

/// Up to where an entry is read for names: the colon that starts free words, if it does.
fn reach(frame: &Frame, line: &Line<'_>) -> usize {
    let results = frame.slots.iter().any(|s| {
        s.takes
            .iter()
            .any(|t| matches!(t, Takes::Reading | Takes::NamedReading | Takes::CountOf | Takes::Replacement))
            && s.takes != [Takes::Flag]
    });
    let colon = line.pieces.iter().position(|p| p.kind == PieceKind::Colon).unwrap_or(line.len());
    if results && !matches!(&*frame.verb, "noticed") { line.len() } else { colon }
}
