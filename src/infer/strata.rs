//! In which order sentences can be finished, and which rules stand in the way.
//!
//! Comes in: a program. Goes out: layers of sentences, each resting only on itself and earlier ones, with
//! the rules that make them, and the rules that must be left out because they ask for the finished whole
//! of what they help to make. It evaluates nothing.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use petgraph::{algo::kosaraju_scc, graph::DiGraph};

use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind, Severity},
        span::Loc,
    },
    model::{
        lines,
        program::{Demand, Program, Rule},
        sentence::SentenceId,
    },
};

/// The code of a rule left out for going in circles.
pub const CIRCLES: &str = "rule-goes-in-circles";

/// How a sentence is read on the way to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Read {
    /// Tuple by tuple, which may go on while more are found.
    Freely,
    /// As a finished whole.
    Whole(Reading),
}

/// Why the finished whole is needed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Reading {
    No,
    Gather,
    Compute,
    Reckon,
}

/// The sentences in an order in which they can be finished.
#[derive(Debug, Default)]
pub(super) struct Strata {
    /// Later ones rest on earlier ones only.
    pub(super) layers: Vec<Layer>,
    /// For each sentence how many layers lie under it.
    pub(super) depth: Vec<u32>,
    /// For each sentence the first of its layer.
    pub(super) together: Vec<u32>,
    /// Rules left out.
    pub(super) left_out: BTreeSet<usize>,
}

/// Sentences that rest on each other, or one alone.
#[derive(Debug, Default)]
pub(super) struct Layer {
    /// The sentences, in order.
    pub(super) sentences: Vec<SentenceId>,
    /// The rules that conclude them, by their numbers.
    pub(super) rules: Vec<usize>,
    /// The reckoners that give them, by their numbers.
    pub(super) reckoners: Vec<usize>,
    /// The sentences of earlier layers that either reads.
    pub(super) reads: Vec<SentenceId>,
    /// Those of them that a rule reads row by row.
    pub(super) rows_of: Vec<SentenceId>,
    /// Those of them that a rule reads as a whole: `no`, and gathering.
    pub(super) wholes_of: Vec<SentenceId>,
    /// Whether a rule reads a sentence of the layer itself.
    pub(super) reads_itself: bool,
}

impl Layer {
    /// Whether a sentence is one of its own.
    pub(super) fn has(&self, sentence: SentenceId) -> bool {
        self.sentences.binary_search(&sentence).is_ok()
    }
}

/// One way one sentence rests on another.
struct Edge {
    by: By,
    from: SentenceId,
    to: SentenceId,
    read: Read,
    /// The line that reads it; the sentence's own place for a reckoner.
    loc: Option<Loc>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum By {
    Rule(usize),
    Reckoner(usize),
}

/// Finds the order. `usable` says which rules can run at all.
pub(super) fn sort(program: &Program, usable: &[bool]) -> (Strata, Vec<Diagnostic>) {
    let mut strata = Strata::default();
    let mut diagnostics = Vec::new();
    let mut edges: Vec<Edge> = program
        .rules
        .iter()
        .enumerate()
        .filter(|(n, _)| usable.get(*n) == Some(&true))
        .flat_map(|(n, rule)| rule_edges(n, rule))
        .chain(reckoner_edges(program))
        .collect();
    loop {
        let groups = groups(program, &edges);
        let mut group_of = vec![0; program.sentences.len()];
        for (n, group) in groups.iter().enumerate() {
            for sentence in group {
                if let Some(slot) = group_of.get_mut(sentence.0 as usize) {
                    *slot = n;
                }
            }
        }
        let inside = |e: &Edge| group_of.get(e.from.0 as usize) == group_of.get(e.to.0 as usize);
        let guilty: BTreeSet<By> = guilty(&edges, inside, &group_of);
        if guilty.is_empty() {
            let runs = |n: &usize| usable.get(*n) == Some(&true) && !strata.left_out.contains(n);
            strata.layers = layers(program, groups, &group_of, &edges, runs);
            strata.depth = depth(program, &strata.layers);
            strata.together = together(program, &strata.layers);
            return (strata, diagnostics);
        }
        for by in &guilty {
            diagnostics.extend(circle(program, *by, &edges, inside));
            if let By::Rule(n) = by {
                strata.left_out.insert(*n);
            }
        }
        edges.retain(|e| !guilty.contains(&e.by));
    }
}

/// Who must go: rules that read within their own group what must be finished first. Where a reckoner
/// does so, the rules that lead from its answers to its questions; the reckoner itself if there is none.
fn guilty(edges: &[Edge], inside: impl Fn(&Edge) -> bool, group_of: &[usize]) -> BTreeSet<By> {
    let whole = || edges.iter().filter(|e| matches!(e.read, Read::Whole(_)) && inside(e));
    let rules: BTreeSet<By> = whole().map(|e| e.by).filter(|by| matches!(by, By::Rule(_))).collect();
    if !rules.is_empty() {
        return rules;
    }
    let group = |e: &Edge| group_of.get(e.from.0 as usize);
    let caught: BTreeSet<_> = whole().filter_map(group).collect();
    let leading: BTreeSet<By> = edges
        .iter()
        .filter(|e| matches!(e.by, By::Rule(_)) && inside(e) && group(e).is_some_and(|g| caught.contains(g)))
        .map(|e| e.by)
        .collect();
    if leading.is_empty() { whole().map(|e| e.by).collect() } else { leading }
}

fn rule_edges(n: usize, rule: &Rule) -> Vec<Edge> {
    let mut computed = BTreeSet::new();
    for line in &rule.body {
        if let Demand::Compute { expr, .. } = &line.demand {
            lines::expr_vars(expr, &mut computed);
        }
    }
    rule.body
        .iter()
        .filter_map(|line| {
            let (to, read) = match &line.demand {
                Demand::Holds(atom) if lines::atom_vars(atom).any(|v| computed.contains(&v)) => {
                    (atom.sentence, Read::Whole(Reading::Compute))
                }
                Demand::Holds(atom) => (atom.sentence, Read::Freely),
                Demand::No { atom, .. } => (atom.sentence, Read::Whole(Reading::No)),
                Demand::Gather { atom, .. } => (atom.sentence, Read::Whole(Reading::Gather)),
                Demand::Compute { .. } | Demand::Compare(_) => return None,
            };
            Some(Edge { by: By::Rule(n), from: rule.head.sentence, to, read, loc: Some(line.loc) })
        })
        .collect()
}

fn reckoner_edges(program: &Program) -> Vec<Edge> {
    let mut edges = Vec::new();
    for (n, reckoner) in program.reckoners.iter().enumerate() {
        let edge = |from: SentenceId, to: SentenceId, read| Edge {
            by: By::Reckoner(n),
            from,
            to,
            read,
            loc: program.sentences.get(from.0 as usize).map(|s| s.loc),
        };
        for from in &reckoner.gives {
            edges.extend(reckoner.reads.iter().map(|to| edge(*from, *to, Read::Whole(Reading::Reckon))));
            // All its answers come at once.
            for to in &reckoner.gives {
                edges.push(edge(*from, *to, Read::Freely));
            }
        }
    }
    edges
}

/// Sentences that rest on each other, those that rest on none first.
fn groups(program: &Program, edges: &[Edge]) -> Vec<Vec<SentenceId>> {
    let mut graph = DiGraph::<(), ()>::new();
    let nodes: Vec<_> = program.sentences.iter().map(|_| graph.add_node(())).collect();
    let mut pairs: Vec<_> = edges.iter().map(|e| (e.from, e.to)).collect();
    pairs.sort_unstable();
    pairs.dedup();
    for (from, to) in pairs {
        if let (Some(a), Some(b)) = (nodes.get(from.0 as usize), nodes.get(to.0 as usize)) {
            graph.add_edge(*a, *b, ());
        }
    }
    kosaraju_scc(&graph)
        .into_iter()
        .map(|group| {
            let mut group: Vec<_> =
                group.into_iter().map(|n| SentenceId(u32::try_from(n.index()).unwrap_or(u32::MAX))).collect();
            group.sort_unstable();
            group
        })
        .collect()
}

/// How the rules of a layer read a sentence.
#[derive(Debug, Clone, Copy, Default)]
struct Reads {
    rows: bool,
    whole: bool,
}

/// The groups with what makes them. `runs` says which rules were not left out.
fn layers(
    program: &Program,
    groups: Vec<Vec<SentenceId>>,
    group_of: &[usize],
    edges: &[Edge],
    runs: impl Fn(&usize) -> bool,
) -> Vec<Layer> {
    let new = |sentences| Layer { sentences, ..Layer::default() };
    let mut layers: Vec<Layer> = groups.into_iter().map(new).collect();
    let group = |s: SentenceId| group_of.get(s.0 as usize).copied();
    for (n, rule) in program.rules.iter().enumerate().filter(|(n, _)| runs(n)) {
        if let Some(layer) = group(rule.head.sentence).and_then(|g| layers.get_mut(g)) {
            layer.rules.push(n);
        }
    }
    let mut reads: BTreeMap<(usize, SentenceId), Reads> = BTreeMap::new();
    let mut reckoners: BTreeSet<(usize, usize)> = BTreeSet::new();
    for edge in edges {
        let Some(at) = group(edge.from) else { continue };
        if let By::Reckoner(n) = edge.by {
            reckoners.insert((at, n));
        }
        if group(edge.to) != Some(at) {
            let reads = reads.entry((at, edge.to)).or_default();
            match edge.read {
                Read::Freely | Read::Whole(Reading::Compute) => reads.rows = true,
                Read::Whole(Reading::No | Reading::Gather) => reads.whole = true,
                Read::Whole(Reading::Reckon) => {}
            }
        } else if matches!(edge.by, By::Rule(_)) {
            layers.get_mut(at).into_iter().for_each(|l| l.reads_itself = true);
        }
    }
    for ((at, sentence), how) in reads {
        let Some(layer) = layers.get_mut(at) else { continue };
        layer.reads.push(sentence);
        layer.rows_of.extend(how.rows.then_some(sentence));
        layer.wholes_of.extend(how.whole.then_some(sentence));
    }
    for (at, reckoner) in reckoners {
        layers.get_mut(at).into_iter().for_each(|l| l.reckoners.push(reckoner));
    }
    layers
}

fn depth(program: &Program, layers: &[Layer]) -> Vec<u32> {
    let mut depth = vec![0u32; program.sentences.len()];
    for layer in layers {
        let below = layer.reads.iter().filter_map(|s| depth.get(s.0 as usize)).max();
        let here = below.map_or(0, |d| d + 1);
        for sentence in &layer.sentences {
            depth.get_mut(sentence.0 as usize).into_iter().for_each(|d| *d = here);
        }
    }
    depth
}

fn together(program: &Program, layers: &[Layer]) -> Vec<u32> {
    let mut together = vec![0u32; program.sentences.len()];
    for layer in layers {
        let first = layer.sentences.first().map_or(0, |s| s.0);
        for sentence in &layer.sentences {
            together.get_mut(sentence.0 as usize).into_iter().for_each(|t| *t = first);
        }
    }
    together
}

/// The diagnostic for one that must go, with the circle in sentences.
fn circle(program: &Program, by: By, edges: &[Edge], inside: impl Fn(&Edge) -> bool) -> Option<Diagnostic> {
    let said = |id: SentenceId| {
        program.sentences.get(id.0 as usize).map_or_else(String::new, |s| format!("“{}”", s.pattern()))
    };
    let bad =
        edges.iter().filter(|e| e.by == by && inside(e)).max_by_key(|e| (e.read, std::cmp::Reverse(e.to)))?;
    let (head, asked) = (said(bad.from), said(bad.to));
    let first = match bad.read {
        Read::Whole(Reading::No) => format!("{head} is said where no {asked} holds"),
        Read::Whole(Reading::Gather) => format!("{head} is said from all of {asked}"),
        Read::Whole(Reading::Compute) => format!("{head} is computed from {asked}"),
        Read::Whole(Reading::Reckon) => format!("{head} is reckoned from all of {asked}"),
        Read::Freely => format!("{head} is said from {asked}"),
    };
    let way = way(edges, &inside, bad.to, bad.from);
    let mut chain = first;
    if way.len() > 1 {
        let rest: Vec<String> = way.iter().skip(1).map(|s| said(*s)).collect();
        chain.push_str(&format!(", which rests on {}", rest.join(", which rests on ")));
    }
    let message = match by {
        By::Rule(_) => format!("This rule goes in circles: {chain}."),
        By::Reckoner(_) => format!("What is reckoned here goes in circles: {chain}."),
    };
    let mut diagnostic = Diagnostic::new(CIRCLES, Severity::Error, message);
    if let Some(loc) = bad.loc {
        diagnostic = diagnostic.at(loc, "asks for what is not finished yet");
    }
    if let By::Rule(n) = by
        && let Some(rule) = program.rules.get(n)
    {
        diagnostic = diagnostic.about(rule.page.to_string());
    }
    Some(diagnostic.remark(
        RemarkKind::Note,
        "`no`, gathering, computing and reckoning read only sentences that are finished before; \
         the rule is left out, the others still run",
    ))
}

/// The shortest way from one sentence to another it rests on, both included, within their group.
fn way(edges: &[Edge], inside: impl Fn(&Edge) -> bool, from: SentenceId, to: SentenceId) -> Vec<SentenceId> {
    let mut next: BTreeMap<SentenceId, BTreeSet<SentenceId>> = BTreeMap::new();
    for e in edges.iter().filter(|e| inside(e)) {
        next.entry(e.from).or_default().insert(e.to);
    }
    let mut came: BTreeMap<SentenceId, SentenceId> = BTreeMap::new();
    let mut todo = VecDeque::from([from]);
    while let Some(at) = todo.pop_front() {
        if at == to {
            break;
        }
        for step in next.get(&at).into_iter().flatten() {
            if *step != from && !came.contains_key(step) {
                came.insert(*step, at);
                todo.push_back(*step);
            }
        }
    }
    let mut way = vec![to];
    let mut at = to;
    while at != from {
        let Some(before) = came.get(&at) else { break };
        way.push(*before);
        at = *before;
    }
    way.reverse();
    way
}
