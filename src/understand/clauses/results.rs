//! Reads what tests, readings, laboratories and the wind say: counts, grades, heights, series, levels.
//!
//! Comes in: a place in a line. Goes out: fillers and the piece after them. What a result means is
//! for others.

use std::sync::Arc;

use super::{
    numbers::{Amount, At},
    reader::{Reader, Take},
};
use crate::{
    measure::{
        number::Range,
        unit::Dimension,
        value::{Quantity, Value},
    },
    model::{entry::Filler, frame::Takes, journal::PieceKind},
    understand::lexicon::Measure,
};

const DIFFERENCE: Measure = Measure::Of(Dimension::TemperatureDifference);

/// A compass point, spelt one way.
pub fn compass(word: &str) -> Option<&'static str> {
    let word = word.strip_suffix("erly").or_else(|| word.strip_suffix("ern")).unwrap_or(word);
    Some(match word {
        "north" | "n" => "north",
        "north east" | "northeast" | "ne" => "north-east",
        "east" | "e" => "east",
        "south east" | "southeast" | "se" => "south-east",
        "south" | "s" => "south",
        "south west" | "southwest" | "sw" => "south-west",
        "west" | "w" => "west",
        "north west" | "northwest" | "nw" => "north-west",
        _ => return None,
    })
}

impl Reader<'_> {
    /// `19 of 24 plants`, with a word such as `hurt` after it; `all 4 pots`; `19/24` of pots; `40 %` of plants.
    pub fn count_of(&self, at: usize, until: usize) -> At<Filler> {
        if let Some(found) = self.all_of(at, until).or_else(|| self.share_of(at, until)) {
            return Some(found);
        }
        if let Some((hurt, among)) = self.fraction(at, until) {
            let next = self.past_pots(at + 1, until);
            return Some((Filler::CountOf { hurt, among, of: "pot".into() }, next));
        }
        let (hurt, next) = self.number(at, until)?;
        let next =
            self.line.are(next, "of").or_else(|| self.line.are(next, "out of")).filter(|n| *n < until)?;
        let next = self.line.past_determiners(next, until);
        let (among, mut next) = self.number(next, until)?;
        let of: Arc<str> = match self.line.word(next) {
            "plants" | "plant" => "plant".into(),
            "pots" | "pot" => "pot".into(),
            "seeds" | "seed" => "seed".into(),
            "seedlings" | "seedling" => "seedling".into(),
            _ => match self.lex.container_at(self.line, next, until) {
                Some((container, after)) => {
                    next = after - 1;
                    container
                }
                None => {
                    next -= 1;
                    let pots = self.frame.slots.iter().any(|s| s.takes.contains(&Takes::Heights));
                    match (self.line.is(next + 1, "up"), pots) {
                        (true, _) => "seed".into(),
                        (false, true) => "pot".into(),
                        (false, false) => "plant".into(),
                    }
                }
            },
        };
        next += 1;
        if next < until && matches!(self.line.word(next), "hurt" | "affected" | "damaged" | "showing") {
            next += 1;
        }
        Some((Filler::CountOf { hurt, among, of }, next))
    }

    /// Whether the frame reads pots, rather than plants.
    fn reads_pots(&self) -> bool {
        self.frame.slots.iter().any(|s| s.takes.contains(&Takes::Heights))
    }

    /// Past what is counted and that it is hurt: `pots`, `pots hurt`, `of them are hurt`.
    fn past_pots(&self, at: usize, until: usize) -> usize {
        let mut next = at;
        let them = self.line.are(at, "of them").or_else(|| self.line.are(at, "of the pots"));
        if let Some(after) = them.filter(|n| *n <= until) {
            next = after;
        }
        while next < until
            && matches!(
                self.line.word(next),
                "pots"
                    | "pot"
                    | "plants"
                    | "plant"
                    | "are"
                    | "were"
                    | "is"
                    | "was"
                    | "hurt"
                    | "affected"
                    | "damaged"
            )
        {
            next += 1;
        }
        next
    }

    /// `all 4 pots hurt`: as many as there are.
    fn all_of(&self, at: usize, until: usize) -> At<Filler> {
        let after = self.line.are(at, "all").filter(|_| at < until && self.reads_pots())?;
        let (n, next) = self.number(self.line.past_determiners(after, until), until)?;
        let end = self.past_pots(next, until);
        let fine = self.soundness(end, until).is_some_and(|(hurt, _)| !hurt);
        (!self.line.is(next, "of") && !fine)
            .then(|| (Filler::CountOf { hurt: n, among: n, of: "pot".into() }, end))
    }

    /// `40 %`, `40 % of plants`: so many of a hundred, where plants are counted.
    fn share_of(&self, at: usize, until: usize) -> At<Filler> {
        let (q, next) = self.measured(at, until)?;
        if q.dimension != Dimension::Share || self.reads_pots() {
            return None;
        }
        let next = match self.line.are(next, "of").map(|n| self.line.past_determiners(n, until)) {
            Some(n) if n < until && matches!(self.line.word(n), "plants" | "them" | "it") => n + 1,
            // `40 % of north-1`, `40 % of the tomatoes`: a part of what is named, which comes next.
            Some(_) if self.portion(at, until).is_some_and(|(_, n)| self.is_place(n, until)) => return None,
            Some(n) => n,
            None => next,
        };
        let hurt = q.size.map(|s| s * 100.0);
        Some((Filler::CountOf { hurt, among: Range::exact(100.0), of: "plant".into() }, next))
    }

    /// `4/4`, `0/4`: so many pots of so many.
    fn fraction(&self, at: usize, until: usize) -> Option<(Range, Range)> {
        let figures = matches!(self.line.kind(at)?, PieceKind::Number(_) | PieceKind::BadNumber);
        if at >= until
            || !figures
            || !self.reads_pots()
            || self.line.is_unit(at + 1)
            || self.line.is(at + 1, "of")
        {
            return None;
        }
        let written = self.line.slice(at, at + 1);
        let (hurt, among) = written.split_once('/')?;
        Some((Range::exact(hurt.parse().ok()?), Range::exact(among.parse().ok()?)))
    }

    /// Whether words say that something is hurt or that it is not, and the piece after them: `hurt`, `fine`,
    /// `nothing wrong`. A grade of hurt is left to be read for itself.
    fn soundness(&self, at: usize, until: usize) -> At<bool> {
        if at >= until {
            return None;
        }
        let sound = [
            "nothing wrong",
            "nothing hurt",
            "nothing odd",
            "nothing amiss",
            "nothing",
            "none hurt",
            "none of them hurt",
            "none of the pots hurt",
            "none",
            "nil",
            "no pots hurt",
            "no plants hurt",
            "no hurt",
            "no damage",
            "no harm",
            "well",
            "good",
            "sound",
            "clean",
            "clear",
            "perfect",
            "unharmed",
            "not hurt",
        ];
        if let Some(next) = sound.iter().filter_map(|w| self.line.are(at, w)).filter(|n| *n <= until).max() {
            return Some((false, next));
        }
        if matches!(self.line.word(at), "hurt" | "affected" | "damaged") {
            return Some((true, at + 1));
        }
        if let Some((grade, next)) = self.lex.word_at(self.line, at, until, &["severity"]) {
            let none = self.lex.words.unhurt(&grade);
            return Some((!none, if none { next } else { at }));
        }
        self.lex.word_at(self.line, at, until, &["sign"]).map(|_| (true, at))
    }

    /// `none hurt`, `all fine`, `all hurt`, `3 hurt`, `0`: of however many pots stand.
    pub fn whole_count(&self, at: usize, until: usize) -> At<Filler> {
        let mut from = at;
        while from < until
            && matches!(
                self.line.word(from),
                "is" | "are"
                    | "was"
                    | "were"
                    | "look"
                    | "looks"
                    | "looked"
                    | "doing"
                    | "still"
                    | "quite"
                    | "both"
            )
        {
            from += 1;
        }
        let none = Some(Range::exact(0.0));
        if let Some(after) = self.line.are(from, "all").filter(|n| *n < until) {
            let after = self.line.are(after, "of them").unwrap_or(self.line.past_determiners(after, until));
            let after = self.number(after, until).map_or(after, |(_, n)| n);
            let after = self.past_nouns(after, until);
            let (hurt, next) = self.soundness(after, until)?;
            return Some((Filler::OfAll { hurt: if hurt { None } else { none } }, next));
        }
        if let Some((n, next)) = self.number(from, until) {
            let noun = self.past_nouns(next, until);
            let (hurt, end) = match self.soundness(noun, until) {
                Some((hurt, end)) if end > noun => (hurt, end),
                Some(_) => return None,
                None => (true, noun),
            };
            // A number alone is a height or an amount, but after `control`.
            let word = |n: usize| matches!(self.line.word(n), "control" | "controls" | "is" | "was");
            let bare = from.checked_sub(1).is_some_and(word)
                && self.unit(next, until).is_none()
                && (end >= until || matches!(self.line.kind(end), Some(PieceKind::Comma)));
            return (hurt && (bare || end > noun)).then_some((Filler::OfAll { hurt: Some(n) }, end));
        }
        match self.soundness(from, until)? {
            (false, next) => Some((Filler::OfAll { hurt: none }, next)),
            _ => None,
        }
    }

    fn past_nouns(&self, at: usize, until: usize) -> usize {
        let mut next = at;
        while next < until
            && matches!(
                self.line.word(next),
                "pots" | "pot" | "plants" | "plant" | "are" | "were" | "is" | "was"
            )
        {
            next += 1;
        }
        next
    }

    /// `18 severe, 4 slight, 2 fine`
    pub fn grades(&self, at: usize, until: usize) -> At<Filler> {
        let mut grades = Vec::new();
        let mut next = at;
        let mut here = at;
        loop {
            let one = self.number(here, until).and_then(|(n, after)| {
                let noun = matches!(
                    self.line.word(after),
                    "pots" | "pot" | "plants" | "plant" | "were" | "are" | "is"
                );
                let after = if noun { after + 1 } else { after };
                let (severity, end) = self.lex.word_at(self.line, after, until, &["severity"])?;
                Some((n, severity, end))
            });
            let Some((n, severity, end)) = one else { break };
            grades.push((n, severity));
            next = end;
            here = end;
            while here < until && self.line.joins(here) {
                here += 1;
            }
        }
        (!grades.is_empty()).then_some((Filler::Grades(grades), next))
    }

    /// `8, 9, none cm`: one for each pot, the unit last.
    pub fn heights(&self, at: usize, until: usize) -> At<Filler> {
        let mut sizes = Vec::new();
        let mut next = at;
        let mut unit = None;
        loop {
            let (size, after) = if matches!(self.line.word(next), "none" | "nil" | "-") && next < until {
                (None, next + 1)
            } else if let Some((n, after)) = self.number(next, until) {
                (Some(n), after)
            } else {
                break;
            };
            sizes.push(size);
            next = after;
            if let Some((meant, after)) = self.unit(next, until) {
                unit = meant.settle(self.system);
                next = after;
            }
            let joined = (next..until).take_while(|n| self.line.joins(*n)).count();
            let more = next + joined;
            if joined == 0
                || more >= until
                || (self.number(more, until).is_none() && !self.line.is(more, "none"))
            {
                break;
            }
            // `…, 4 of 4 pots` begins another clause.
            if self.count_of(more, until).is_some() {
                break;
            }
            next = more;
        }
        let unit = unit.filter(|u| u.dimension() == Some(Dimension::Length))?;
        let sizes = sizes.into_iter().map(|s| s.and_then(|n| unit.quantity(n))).collect();
        Some((Filler::Heights(sizes), next))
    }

    /// A reading or a series: `58 C`, `EC 3.2 mS/cm`, `pH 6.5`, `10:20 150 F, 10:35 161 F`.
    pub fn readings(&self, at: usize, until: usize) -> Option<Take> {
        let mut take = Take { fillers: Vec::new(), next: at, sure: true, missing: Vec::new(), share: None };
        let mut here = at;
        // `pH in north-1: 6.8`
        let mut last = self.drafts.iter().rev().flat_map(|d| &d.fills).find_map(|f| match &f.filler {
            Filler::Value(Value::Word(q)) if *f.slot == *"quantity" => Some(q.clone()),
            _ => None,
        });
        while let Some((filler, next)) = self.reading(here, until, last.as_ref()) {
            if let Filler::Reading { quantity, .. } = &filler {
                last = Some(quantity.clone());
            }
            take.fillers.push((filler, self.line.loc(here, next)));
            take.next = next;
            here = next;
            while here < until && self.line.joins(here) {
                here += 1;
            }
            if here == next {
                break;
            }
        }
        (!take.fillers.is_empty()).then_some(take)
    }

    /// Readings that say what was read, so that `12 ppb clopyralid` is none.
    pub fn named_readings(&self, at: usize, until: usize) -> Option<Take> {
        let named = |take: &Take| {
            (at..take.next).any(|n| self.lex.word_at(self.line, n, take.next, &["quantity"]).is_some())
        };
        self.readings(at, until).filter(named)
    }

    fn reading(&self, at: usize, until: usize, last: Option<&Arc<str>>) -> At<Filler> {
        let (clock, at) = match self.clock(at, until) {
            Some((minutes, next)) => (Some(minutes), next),
            None => (None, at),
        };
        let quantity_at = |n| self.lex.word_at(self.line, n, until, &["quantity"]);
        let (before, at) = match quantity_at(at) {
            Some((q, next)) => (
                Some(q),
                if matches!(self.line.word(next), "of" | "at" | "is" | "was") { next + 1 } else { next },
            ),
            None => (None, at),
        };
        let measure = |q: &Arc<str>| self.lex.words.measure(q);
        let (value, mut next, dimension) = match self.measured(at, until) {
            Some((q, next)) if before.as_ref().and_then(measure) == Some(DIFFERENCE) => {
                let rise = self.rise(at, until).unwrap_or(q);
                (Value::Quantity(rise), next, Some(rise.dimension))
            }
            Some((q, next)) => (Value::Quantity(q), next, Some(q.dimension)),
            None => {
                let (n, next) = self.plain_or_ratio(at, until)?;
                // Few readings have no unit; any other number alone is not known of what.
                let named =
                    before.clone().or_else(|| quantity_at(next).map(|(q, _)| q)).or_else(|| last.cloned())?;
                let acidity = self.lex.words.whole(Dimension::Acidity.word(), &["quantity"]);
                let acid = acidity.is_none_or(|m| m.word == named);
                if !acid && measure(&named) != Some(Measure::Plain) {
                    return None;
                }
                let value = if acid {
                    Value::Quantity(Quantity { size: n, dimension: Dimension::Acidity })
                } else {
                    Value::Number(n)
                };
                (value, next, None)
            }
        };
        // A depth is where it was measured, not what, unless a length is what was named.
        if dimension == Some(Dimension::Length)
            && before.as_ref().and_then(measure) != Some(Measure::Of(Dimension::Length))
        {
            return None;
        }
        let mut quantity = before;
        if quantity.is_none()
            && let Some((q, after)) = quantity_at(next)
        {
            quantity = Some(q);
            next = after;
        }
        let quantity = match (quantity, dimension) {
            (Some(q), _) => q,
            (None, Some(Dimension::Share)) if last.is_some() => last?.clone(),
            (None, Some(d)) => self
                .lex
                .words
                .whole(d.word(), &["quantity"])
                .map_or_else(|| d.word().into(), |m| m.word.clone()),
            (None, None) => last?.clone(),
        };
        let position = self.line.name_end(next, until, true).filter(|end| {
            (next..*end).all(|n| self.line.kind(n) == Some(&PieceKind::Word)) && *end - next <= 3
        });
        let (position, next) = match position {
            Some(end)
                if self.lex.name_at(self.line, next, until, |_| true).is_none()
                    && self.free_of_clauses(next, end) =>
            {
                (Some(self.line.slice(next, end).into()), end)
            }
            _ => (None, next),
        };
        Some((Filler::Reading { quantity, value, clock, position }, next))
    }

    /// A number, or two as a ratio to one: `28:1`.
    fn plain_or_ratio(&self, at: usize, until: usize) -> At<Range> {
        match self.line.kind(at)? {
            PieceKind::Pair(a, b) if at < until => Some((a.over(*b)?, at + 1)),
            _ => self.number(at, until),
        }
    }

    /// Degrees read as a rise, not as a place on the scale: `self-heating 36 F`.
    fn rise(&self, at: usize, until: usize) -> Option<Quantity> {
        let (size, next) = self.number(at, until)?;
        let unit = self.unit(next, until)?.0.settle(self.system)?;
        let zero = unit.quantity(Range::exact(0.0))?;
        let top = unit.quantity(size).filter(|q| q.dimension == Dimension::Temperature)?;
        let size = top.size.map(|t| t - zero.size.low());
        Some(Quantity { size, dimension: Dimension::TemperatureDifference })
    }

    /// Whether no word of a table stands in a stretch, so that it is free words.
    fn free_of_clauses(&self, from: usize, to: usize) -> bool {
        (from..to).all(|n| !self.lex.words.any_at(&self.line.atoms, n, to) && !self.is_place(n, to))
    }

    /// `12 ppb`, `under 1 ppb`, `<1 ppb`, `trace`, `no`.
    pub fn level(&self, at: usize, until: usize) -> At<Filler> {
        match self.line.word(at) {
            "no" | "none" | "nil" => return Some((Filler::Level { level: None, under: false }, at + 1)),
            "trace" | "traces" => {
                let next = if self.line.is(at + 1, "of") { at + 2 } else { at + 1 };
                return Some((Filler::Level { level: None, under: true }, next));
            }
            _ => {}
        }
        let under = match self.line.word(at) {
            "under" | "below" | "<" => Some(at + 1),
            "less" => self.line.are(at, "less than"),
            _ => None,
        };
        let (q, next) = self.measured(under.unwrap_or(at), until)?;
        // None of it is none found, however it is written.
        let none = q.size.low() >= 0.0 && q.size.high() <= 0.0;
        let level = Some(q).filter(|_| under.is_some() || !none);
        (q.dimension == Dimension::MassFraction)
            .then_some((Filler::Level { level, under: under.is_some() }, next))
    }

    /// `8 mph from the west`, `calm`, `light from the NW`, `from the south`.
    pub fn wind(&self, at: usize, until: usize) -> At<Filler> {
        let mut next = at;
        let (mut speed, mut word, mut from) = (None, None, None);
        if let Some((q, after)) = self.measured(next, until).filter(|(q, _)| q.dimension == Dimension::Speed)
        {
            speed = Some(q);
            next = after;
        } else if next < until
            && matches!(self.line.word(next), "calm" | "light" | "strong" | "moderate" | "gusty")
        {
            word = Some(Arc::from(self.line.word(next)));
            next += 1;
        }
        let after = if self.line.is(next, "from") { next + 1 } else { next };
        let after = self.line.past_determiners(after, until);
        if let Some(point) = compass(self.line.word(after)).filter(|_| after < until) {
            from = Some(Arc::from(point));
            next = after + 1;
        }
        // `from the south 8 mph`, `light wind`
        if speed.is_none()
            && let Some((q, after)) =
                self.measured(next, until).filter(|(q, _)| q.dimension == Dimension::Speed)
        {
            speed = Some(q);
            next = after;
        }
        if next > at && next < until && self.line.is(next, "wind") {
            return match self.wind(next + 1, until) {
                Some((Filler::Wind { speed: s, word: w, from: f }, after)) => {
                    Some((Filler::Wind { speed: speed.or(s), word: word.or(w), from: from.or(f) }, after))
                }
                _ => Some((Filler::Wind { speed, word, from }, next + 1)),
            };
        }
        (next > at).then_some((Filler::Wind { speed, word, from }, next))
    }

    /// `30 ft x 4 ft`, `30 x 4 ft`, `30 ft long, 4 ft wide`, `120 ft2`.
    pub fn size(&self, at: usize, until: usize) -> At<Filler> {
        let mut sizes: Vec<(Range, Option<Quantity>)> = Vec::new();
        let mut next = at;
        while let Some((n, after)) = self.number(next, until) {
            let q = self.measured(next, until);
            next = q.map_or(after, |(_, end)| end);
            sizes.push((n, q.map(|(q, _)| q)));
            let worded =
                next < until && matches!(self.line.word(next), "long" | "wide" | "deep" | "high" | "across");
            if worded {
                next += 1;
            }
            let more = match self.line.word(next) {
                "x" | "by" | "\u{d7}" | "and" if next < until => next + 1,
                _ if worded && self.line.joins(next) => next + 1,
                _ => break,
            };
            if self.number(more, until).is_none() {
                break;
            }
            next = more;
        }
        let (_, last) = sizes.last()?;
        let last = (*last)?;
        if sizes.len() == 1 && last.dimension != Dimension::Area {
            return None;
        }
        // `30 x 4 ft`: the unit is said once.
        let factor = sizes.last().map(|(n, _)| n.low()).filter(|n| *n != 0.0)?;
        let one = last.size.low() / factor;
        let all: Vec<Quantity> = sizes
            .iter()
            .map(|(n, q)| q.unwrap_or(Quantity { size: n.map(|x| x * one), dimension: last.dimension }))
            .collect();
        let lengths = all.iter().all(|q| q.dimension == Dimension::Length);
        (lengths || all.len() == 1).then_some((Filler::Size(all), next))
    }

    /// `10 ml per litre`, `2 kg/ha`, or an amount in all.
    pub fn rate(&self, at: usize, until: usize) -> At<Filler> {
        use Dimension as D;
        let (q, next) = self.measured(at, until)?;
        let fits = matches!(
            q.dimension,
            D::VolumePerVolume | D::MassPerArea | D::Volume | D::Mass | D::MassFraction | D::Share
        );
        fits.then_some((Filler::Value(Value::Quantity(q)), next))
    }

    /// `flush 1`, `first flush`, `2nd flush`.
    pub fn flush(&self, at: usize, until: usize) -> At<Filler> {
        const ORDINALS: [&str; 6] = ["first", "second", "third", "fourth", "fifth", "sixth"];
        if self.line.is(at, "flush") {
            let (n, next) = self.number(at + 1, until)?;
            return Some((Filler::Value(Value::Number(n)), next));
        }
        if let Some(n) = ORDINALS.iter().position(|o| *o == self.line.word(at))
            && self.line.is(at + 1, "flush")
            && at + 1 < until
        {
            return Some((Filler::Value(Value::number((n + 1) as f64)), at + 2));
        }
        let (n, next) = self.number(at, until)?;
        let suffix = matches!(self.line.word(next), "st" | "nd" | "rd" | "th") && self.line.glued(next);
        (suffix && self.line.is(next + 1, "flush") && next + 1 < until)
            .then_some((Filler::Value(Value::Number(n)), next + 2))
    }

    /// `4 pots`
    pub fn pots(&self, at: usize, until: usize) -> At<Filler> {
        match self.amount(at, until)? {
            (Amount::Containers(n, container, _), next) if *container == *"pot" => {
                Some((Filler::Value(Value::Number(n)), next))
            }
            (Amount::Bare(n), next) if matches!(self.line.word(next), "pot" | "pots") && next < until => {
                Some((Filler::Value(Value::Number(n)), next + 1))
            }
            _ => None,
        }
    }
}
