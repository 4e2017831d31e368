//! Computations and comparisons as written, with constants read and sorts checked.
//!
//! Comes in: sides of a line and the rule's variables. Goes out: expressions and comparisons, with a
//! fault where two sides cannot be added, compared or asked for. It computes nothing.

use super::{
    MISFIT, atoms, fault, figure,
    shapes::{Compared, Direction, How, Spot, Sum},
    types,
    vars::Vars,
};
use crate::{
    base::{diagnostic::Diagnostic, span::Loc},
    measure::{
        unit::Dimension,
        value::{BlankType, Value},
    },
    model::program::{Comparator, Comparison, Expr, Function, Term},
};

/// One side with its type, where that is known.
pub(super) struct Side {
    pub(super) expr: Expr,
    pub(super) takes: Option<BlankType>,
    pub(super) loc: Loc,
    /// The constant's text, so that it can be read again as what the other side is.
    text: Option<String>,
}

const DURATION: BlankType = BlankType::Amount(Dimension::Duration);

/// Reads one side.
pub(super) fn side(sum: &Sum, vars: &mut Vars) -> Result<Side, Diagnostic> {
    let loc = sum.loc();
    match sum {
        Sum::Hole(Spot { it, loc }) => {
            let id = vars.named(&atoms::variable(it, *loc)?, *loc);
            Ok(Side { expr: Expr::Term(Term::Var(id)), takes: vars.takes(id), loc: *loc, text: None })
        }
        Sum::Word(Spot { it, .. }) => Ok(constant(Value::word(it.as_str()), BlankType::Name, loc, it)),
        Sum::Figure(Spot { it, .. }) => {
            let value = figure::figure(it).map_err(|m| fault(MISFIT, loc, m))?;
            let takes = types::of(&value);
            Ok(constant(value, takes, loc, it))
        }
        Sum::Pair(a, op, b) => {
            let (mut a, mut b) = (side(a, vars)?, side(b, vars)?);
            let takes = match types::computed(a.takes, *op, b.takes) {
                Ok(takes) => takes,
                Err(()) => {
                    // Degrees added or taken away are a difference, not a point on the scale.
                    let before = (a.takes, b.takes);
                    let difference = Some(BlankType::Amount(Dimension::TemperatureDifference));
                    let constant = if b.text.is_some() { &mut b } else { &mut a };
                    reread(constant, difference);
                    types::computed(a.takes, *op, b.takes).map_err(|()| {
                        let said = |t: Option<BlankType>| t.map_or_else(String::new, types::plain);
                        let verb = match op {
                            '+' => "added to",
                            '-' => "taken from",
                            '*' => "multiplied by",
                            _ => "divided by",
                        };
                        let (x, y) = if *op == '-' { (before.1, before.0) } else { before };
                        fault(MISFIT, loc, format!("{} cannot be {verb} {}.", capital(&said(x)), said(y)))
                    })?
                }
            };
            let (x, y) = (Box::new(a.expr), Box::new(b.expr));
            let expr = match op {
                '+' => Expr::Add(x, y),
                '-' => Expr::Sub(x, y),
                '*' => Expr::Mul(x, y),
                _ => Expr::Div(x, y),
            };
            Ok(Side { expr, takes, loc, text: None })
        }
        Sum::Call(function, _, sums) => called(*function, sums, loc, vars),
    }
}

/// A function asked of sides; of two, a constant is read again as what the other is.
fn called(function: Function, sums: &[Sum], loc: Loc, vars: &mut Vars) -> Result<Side, Diagnostic> {
    let mut sides: Vec<Side> = sums.iter().map(|sum| side(sum, vars)).collect::<Result<_, _>>()?;
    if let [a, b] = &mut sides[..]
        && a.takes != b.takes
    {
        let (l, r) = (a.takes, b.takes);
        if reread(b, l).is_some() || b.text.is_none() {
            reread(a, r);
        }
    }
    let takes: Vec<Option<BlankType>> = sides.iter().map(|s| s.takes).collect();
    let takes = types::called(function, &takes).map_err(|()| {
        let all: Vec<String> = takes.iter().map(|t| t.map_or_else(String::new, types::plain)).collect();
        let (before, after) = function.words();
        let message = if after.is_empty() {
            format!("There is no “{before}” {}.", all.join(" and "))
        } else {
            format!("{} cannot be {after}: only bare numbers can.", capital(&all.join(" and ")))
        };
        fault(MISFIT, loc, message)
    })?;
    let expr = Expr::Call(function, sides.into_iter().map(|s| s.expr).collect());
    Ok(Side { expr, takes, loc, text: None })
}

fn constant(value: Value, takes: BlankType, loc: Loc, text: &str) -> Side {
    Side { expr: Expr::Term(Term::Const(value)), takes: Some(takes), loc, text: Some(text.to_owned()) }
}

/// Reads a constant again as another type, if it can be that.
fn reread(side: &mut Side, takes: Option<BlankType>) -> Option<String> {
    let (text, takes) = (side.text.as_ref()?, takes?);
    match figure::constant(text, takes) {
        Ok(value) => {
            side.expr = Expr::Term(Term::Const(value));
            side.takes = Some(takes);
            None
        }
        Err(said) => Some(said),
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

/// Reads a comparison.
pub(super) fn comparison(c: &Compared, vars: &mut Vars) -> Result<Comparison, Diagnostic> {
    let (mut left, mut right) = (side(&c.left, vars)?, side(&c.right, vars)?);
    let by = match &c.how {
        How::Same | How::Different => {
            agree(&mut left, &mut right, types::alike)?;
            if c.how == How::Same { Comparator::Same } else { Comparator::Different }
        }
        How::Less | How::AtMost | How::More | How::AtLeast => {
            agree(&mut left, &mut right, types::ordered)?;
            match c.how {
                How::Less => Comparator::Less,
                How::AtMost => Comparator::AtMost,
                How::More => Comparator::More,
                _ => Comparator::AtLeast,
            }
        }
        How::Within(sum, direction) | How::MoreBy(sum, direction) => {
            for side in [&mut left, &mut right] {
                is(side, BlankType::Date)?;
            }
            let mut by = side(sum, vars)?;
            is(&mut by, DURATION)?;
            match (&c.how, direction) {
                (How::Within(..), Direction::After) => Comparator::WithinAfter(by.expr),
                (How::Within(..), Direction::Before) => Comparator::WithinBefore(by.expr),
                (How::Within(..), Direction::Of) => Comparator::WithinOf(by.expr),
                (_, Direction::After) => Comparator::MoreThanAfter(by.expr),
                (_, Direction::Before) => Comparator::MoreThanBefore(by.expr),
                (_, Direction::Of) => {
                    let message = "`is more than … of` has no meaning. Write `after` or `before`.";
                    return Err(fault(super::UNREAD, by.loc, message));
                }
            }
        }
    };
    Ok(Comparison { left: left.expr, by, right: right.expr, may: c.may })
}

/// Demands that a side is of a type, reading a constant as that type.
pub(super) fn is(side: &mut Side, takes: BlankType) -> Result<(), Diagnostic> {
    match side.takes {
        None => Ok(()),
        Some(t) if types::joined(t, takes).is_some() => Ok(()),
        Some(t) => {
            let message = match reread(side, Some(takes)) {
                None if side.text.is_some() => return Ok(()),
                Some(said) => said,
                None => format!("This is {}; here belongs {}.", types::plain(t), types::described(takes)),
            };
            Err(fault(MISFIT, side.loc, message))
        }
    }
}

/// Demands that two sides can be compared, reading a constant as what the other side is.
fn agree(
    left: &mut Side,
    right: &mut Side,
    fits: fn(Option<BlankType>, Option<BlankType>) -> bool,
) -> Result<(), Diagnostic> {
    if fits(left.takes, right.takes) {
        return Ok(());
    }
    let (l, r) = (left.takes, right.takes);
    let mut said = reread(right, l);
    if said.is_none() && right.text.is_none() {
        said = reread(left, r);
    }
    if said.is_none() && fits(left.takes, right.takes) {
        return Ok(());
    }
    let (loc, message) = match (said, l, r) {
        (Some(said), ..) if right.text.is_some() => (right.loc, said),
        (Some(said), ..) => (left.loc, said),
        (None, Some(l), Some(r)) if l == r => {
            (left.loc, format!("Of {} none is greater or less than another.", plural(l)))
        }
        (None, l, r) => {
            let words = |t: Option<BlankType>| t.map_or_else(|| "something else".to_owned(), types::plain);
            (right.loc, format!("This is {}, but it is compared with {}.", words(r), words(l)))
        }
    };
    Err(fault(MISFIT, loc, message))
}

fn plural(takes: BlankType) -> &'static str {
    match takes {
        BlankType::Entry => "entries",
        _ => "names and words",
    }
}
