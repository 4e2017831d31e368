//! The statements that rival causes are reckoned from.
//!
//! Comes in: filled sentences, as numbers into [`READS`] with their values. Goes out: a [`Book`] of causes,
//! questions, rows, suspects and answers. Statements may come in any order and twice. It weighs nothing.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use crate::{
    measure::value::Value,
    reckon::{exact::least_one_sided, odds::ceiling},
};

/// The sentences read, as declared.
pub const READS: &[&str] = &[
    "{cause} is told as {words:text}",
    "{cause} from nowhere known is told as {words:text}",
    "{cause} is one for each {kind}",
    "of 100 cases of {cause}, {n:number} answer {question:text} with {answer:text}",
    "{cause} and {other} may both be true",
    "{cause} stands for all that is not listed",
    "{question:text} is asked of each {kind}",
    "{question:text} takes {days:number} days and costs {money:text}",
    "{question:text} is settled by {doing:text}",
    "{answer:text} to {question:text} is put as {words:text}",
    "{question:text} counts {what}, as {n:number} against {m:number}",
    "in {outbreak}, {question:text} is answered {answer:text}",
    "in {outbreak}, {question:text} about {subject} is answered {answer:text}",
    "in {outbreak}, {question:text} about {subject} compares {n:number} with {m:number}",
    "{cause} has {n:number} shares of the chances in {outbreak}",
    "{cause} of {subject} has {n:number} shares of the chances in {outbreak}",
    "{question:text} asks {words:text}",
    "{answer:text} to {question:text} may be {other:text}",
    "in {outbreak}, {question:text} has been looked into",
    "in {outbreak}, {question:text} about {subject} has been looked into",
    "in {outbreak}, {question:text} compares {n:number} with {m:number}",
    "{cause} of unknown source is told as {words:text}",
    "{subject} is of unknown source",
    "in {outbreak}, {question:text} rests on {thing}",
    "in {outbreak}, {question:text} about {subject} rests on {thing}",
    "{answer:text} to {question:text} is made plainer in {days:number} days at {money:text} by {doing:text}",
];

/// Whether a sentence of [`READS`] makes a cause a suspect. Without one there is no outbreak to weigh.
pub fn accuses(sentence: usize) -> bool {
    matches!(sentence, 14 | 15)
}

/// What is known of a cause.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Told {
    /// The words it is shown in, `{subject}` standing for its subject.
    pub words: String,
    /// The words for one whose source nobody knows.
    pub unseen: Option<String>,
    /// The words for one whose subject is known by its kind alone, `{subject}` standing for that.
    pub unnamed: Option<String>,
    /// The kind of thing there is one of it for.
    pub each: Option<Arc<str>>,
    /// Whether it stands for all that is not listed.
    pub other: bool,
}

/// What is known of a question.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct About {
    /// What it asks, in the words shown.
    pub asks: Option<String>,
    /// The kind of thing it is asked of; of the outbreak if none.
    pub each: Option<Arc<str>>,
    /// Days it takes, and what it costs in words.
    pub takes: Option<(f64, String)>,
    /// What to do to settle it.
    pub doing: Option<String>,
    /// What is counted, if it is a counted comparison.
    pub counts: Option<Arc<str>>,
    /// The most that the size it is commonly done in can say.
    pub planned: Option<f64>,
    /// The words its answers are shown in.
    pub words: BTreeMap<Arc<str>, String>,
    /// Answers that leave it open which of several it is.
    pub vague: BTreeMap<Arc<str>, BTreeSet<Arc<str>>>,
    /// Answers that are worth asking for again, with the look that makes each plainer.
    pub plainer: BTreeMap<Arc<str>, Look>,
}

/// A look to take: what to do, how many days it takes, and what it costs in words.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// What to do.
    pub doing: String,
    /// Days until it can be read.
    pub days: f64,
    /// What it costs, in words.
    pub money: String,
}

impl About {
    /// How long it takes, then whether it costs anything, then what; of a question that was answered, what it takes
    /// to answer it more plainly than `given`.
    pub fn effort(&self, given: Option<&Arc<str>>) -> (f64, String) {
        let free = |money: &str| if money == "nothing" { String::new() } else { money.to_owned() };
        match given.and_then(|g| self.plainer.get(g)) {
            Some(look) => (look.days, free(&look.money)),
            None => {
                self.takes.as_ref().map_or((f64::MAX, String::new()), |(days, money)| (*days, free(money)))
            }
        }
    }

    /// Whether all that was answered leaves the question open: `None` if something plain was said, else the
    /// answers that a plainer look may come to, of those in `columns`.
    pub fn left_open(&self, given: &BTreeSet<Arc<str>>, columns: &[&Arc<str>]) -> Option<BTreeSet<Arc<str>>> {
        let vague = |a: &Arc<str>| self.vague.contains_key(a);
        if !given.iter().all(|a| vague(a) || self.plainer.contains_key(a)) {
            return None;
        }
        if given.iter().all(vague) {
            return Some(self.possible(given));
        }
        Some(columns.iter().filter(|c| !self.plainer.contains_key(**c)).map(|c| (*c).clone()).collect())
    }

    /// The answers that may be the true one, of those given: each that is in the table and all that a
    /// vague one leaves open, which counts only where nothing plainer is said.
    pub fn possible(&self, given: &BTreeSet<Arc<str>>) -> BTreeSet<Arc<str>> {
        let plain: BTreeSet<Arc<str>> =
            given.iter().filter(|a| !self.vague.contains_key(*a)).cloned().collect();
        if plain.is_empty() {
            given.iter().filter_map(|a| self.vague.get(a)).flatten().cloned().collect()
        } else {
            plain
        }
    }
}

/// In how many of 100 cases each answer is seen.
pub type Row = BTreeMap<Arc<str>, f64>;

/// A question, or a cause, with the lot or spraying it is about.
type Of = (Arc<str>, Option<Value>);

/// What is known of one outbreak. Numbers are of the statements that say so.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Matter {
    /// Suspects with their greatest weight.
    pub suspects: BTreeMap<Of, (f64, Vec<usize>)>,
    /// Answers given to each question.
    pub answers: BTreeMap<Of, (BTreeSet<Arc<str>>, Vec<usize>)>,
    /// Questions that have been looked into, answered or not.
    pub looked: BTreeSet<Of>,
    /// What else the answer to a question rests on, beside the answer itself: tests that came out alike.
    pub rests: BTreeMap<Of, (BTreeSet<Value>, Vec<usize>)>,
    /// Sizes of counted comparisons.
    sizes: BTreeMap<Of, BTreeSet<(u32, u32)>>,
}

impl Matter {
    /// The most a counted comparison can say: that of its largest size, nothing at all where no size is
    /// known; `None` for a question that counts nothing.
    pub fn ceiling(&self, book: &Book, question: &Arc<str>, about: Option<&Value>) -> Option<f64> {
        book.questions.get(question)?.counts.as_ref()?;
        let size = self.size(question, about);
        Some(size.map_or(1.0, |(n, m)| ceiling(least_one_sided(n, m)).max(1.0)))
    }

    /// The size of a counted comparison that can say most.
    pub fn size(&self, question: &Arc<str>, about: Option<&Value>) -> Option<(u32, u32)> {
        let sizes = self.sizes.get(&(question.clone(), about.cloned()))?;
        let most = |(n, m): &(u32, u32)| ceiling(least_one_sided(*n, *m));
        sizes.iter().copied().max_by(|a, b| most(a).total_cmp(&most(b)))
    }
}

/// Everything said.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Book {
    /// Causes by name.
    pub causes: BTreeMap<Arc<str>, Told>,
    /// Questions by name.
    pub questions: BTreeMap<Arc<str>, About>,
    /// For each question and cause, in how many of 100 cases each answer is seen.
    pub rows: BTreeMap<Arc<str>, BTreeMap<Arc<str>, Row>>,
    /// Causes that may both be true.
    pub pairs: BTreeSet<(Arc<str>, Arc<str>)>,
    /// Subjects that are known by their kind alone.
    pub unnamed: BTreeSet<Value>,
    /// Outbreaks.
    pub matters: BTreeMap<Value, Matter>,
}

impl Book {
    /// Gathers statements, each with the number into [`READS`] of its sentence.
    pub fn of<'a>(statements: impl IntoIterator<Item = (usize, &'a [Value])>) -> Self {
        let mut book = Self::default();
        for (tag, (sentence, values)) in statements.into_iter().enumerate() {
            // A statement that says nothing usable is passed over.
            let _ = book.add(tag, sentence, values);
        }
        book
    }

    /// The words a suspect is shown in; its subject with how that is shown.
    pub fn told(&self, cause: &str, subject: Option<(&Value, &str)>) -> String {
        let told = self.causes.get(cause);
        match (told, subject) {
            (Some(told), Some((subject, shown))) => {
                let unnamed = told.unnamed.as_ref().filter(|_| self.unnamed.contains(subject));
                unnamed.unwrap_or(&told.words).replace("{subject}", shown)
            }
            (Some(told), None) => told.unseen.clone().unwrap_or_else(|| told.words.clone()),
            (None, _) => cause.to_owned(),
        }
    }

    /// The words an answer is shown in.
    pub fn put(&self, question: &str, answer: &str) -> String {
        let words = self.questions.get(question).and_then(|q| q.words.get(answer));
        words.cloned().unwrap_or_else(|| answer.to_owned())
    }

    fn add(&mut self, tag: usize, sentence: usize, values: &[Value]) -> Option<()> {
        let w = |n: usize| values.get(n).and_then(word);
        match sentence {
            0 => self.cause(w(0)?).words = w(1)?.to_string(),
            1 => self.cause(w(0)?).unseen = Some(w(1)?.to_string()),
            2 => self.cause(w(0)?).each = Some(w(1)?),
            3 => {
                let rows = self.rows.entry(w(2)?).or_default().entry(w(0)?).or_default();
                rows.insert(w(3)?, number(values.get(1)?)?);
            }
            4 => {
                self.pairs.insert((w(0)?, w(1)?));
            }
            5 => self.cause(w(0)?).other = true,
            6 => self.question(w(0)?).each = Some(w(1)?),
            7 => self.question(w(0)?).takes = Some((number(values.get(1)?)?, w(2)?.to_string())),
            8 => self.question(w(0)?).doing = Some(w(1)?.to_string()),
            9 => {
                self.question(w(1)?).words.insert(w(0)?, w(2)?.to_string());
            }
            10 => {
                let (n, m) = (count(values.get(2)?)?, count(values.get(3)?)?);
                let question = self.question(w(0)?);
                question.counts = Some(w(1)?);
                question.planned = Some(ceiling(least_one_sided(n, m)));
            }
            11 => self.answer(tag, values.first()?, (w(1)?, None), w(2)?),
            12 => self.answer(tag, values.first()?, (w(1)?, Some(values.get(2)?.clone())), w(3)?),
            13 => {
                let size = (count(values.get(3)?)?, count(values.get(4)?)?);
                self.size(values.first()?, (w(1)?, Some(values.get(2)?.clone())), size);
            }
            14 => self.suspect(tag, values.get(2)?, (w(0)?, None), number(values.get(1)?)?),
            15 => self.suspect(
                tag,
                values.get(3)?,
                (w(0)?, Some(values.get(1)?.clone())),
                number(values.get(2)?)?,
            ),
            16 => self.question(w(0)?).asks = Some(w(1)?.to_string()),
            17 => {
                self.question(w(1)?).vague.entry(w(0)?).or_default().insert(w(2)?);
            }
            18 => self.looked(values.first()?, (w(1)?, None)),
            19 => self.looked(values.first()?, (w(1)?, Some(values.get(2)?.clone()))),
            20 => {
                let size = (count(values.get(2)?)?, count(values.get(3)?)?);
                self.size(values.first()?, (w(1)?, None), size);
            }
            21 => self.cause(w(0)?).unnamed = Some(w(1)?.to_string()),
            22 => {
                self.unnamed.insert(values.first()?.clone());
            }
            23 => self.rests(tag, values.first()?, (w(1)?, None), values.get(2)?),
            24 => {
                self.rests(tag, values.first()?, (w(1)?, Some(values.get(2)?.clone())), values.get(3)?);
            }
            25 => {
                let look = Look {
                    doing: w(4)?.to_string(),
                    days: number(values.get(2)?)?,
                    money: w(3)?.to_string(),
                };
                self.question(w(1)?).plainer.insert(w(0)?, look);
            }
            _ => return None,
        }
        Some(())
    }

    fn cause(&mut self, name: Arc<str>) -> &mut Told {
        self.causes.entry(name).or_default()
    }

    fn question(&mut self, name: Arc<str>) -> &mut About {
        self.questions.entry(name).or_default()
    }

    fn answer(&mut self, tag: usize, outbreak: &Value, of: Of, answer: Arc<str>) {
        let (given, by) = self.matters.entry(outbreak.clone()).or_default().answers.entry(of).or_default();
        given.insert(answer);
        by.push(tag);
    }

    fn rests(&mut self, tag: usize, outbreak: &Value, of: Of, thing: &Value) {
        let (on, by) = self.matters.entry(outbreak.clone()).or_default().rests.entry(of).or_default();
        on.insert(thing.clone());
        by.push(tag);
    }

    fn looked(&mut self, outbreak: &Value, of: Of) {
        self.matters.entry(outbreak.clone()).or_default().looked.insert(of);
    }

    fn size(&mut self, outbreak: &Value, of: Of, size: (u32, u32)) {
        self.matters.entry(outbreak.clone()).or_default().sizes.entry(of).or_default().insert(size);
    }

    fn suspect(&mut self, tag: usize, outbreak: &Value, of: Of, weight: f64) {
        let (most, by) = self.matters.entry(outbreak.clone()).or_default().suspects.entry(of).or_default();
        *most = most.max(weight);
        by.push(tag);
    }
}

fn word(value: &Value) -> Option<Arc<str>> {
    match value {
        Value::Word(w) => Some(w.clone()),
        _ => None,
    }
}

fn number(value: &Value) -> Option<f64> {
    match value {
        Value::Number(n) if n.middle().is_finite() => Some(n.middle()),
        _ => None,
    }
}

/// A count as a whole number; of a range the least.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn count(value: &Value) -> Option<u32> {
    match value {
        Value::Number(n) => Some(n.low().clamp(0.0, 10_000.0).floor() as u32),
        _ => None,
    }
}
