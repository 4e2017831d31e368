//! The `reckon` registry: which mathematics a page may call, by the sentences it reads and gives.
//!
//! Comes in: finished sentences. Goes out: sentences with witnesses and numbers. The mathematics
//! itself is in `reckon`; here sentences become its types and its results sentences again. Nothing
//! but what is listed here is callable from a page.

mod beanfigures;
mod beantest;
mod causes;
mod heat;
mod heatrule;
mod layout;
mod lineage;
mod outbreak;
mod residue;
mod testplan;
mod trial;

pub use lineage::circles;

use crate::model::program::Reckoner;

/// Every member, in the order of their names.
pub fn registry() -> Vec<Reckoner> {
    vec![
        Reckoner {
            name: "bean test",
            reads: beantest::READS,
            gives: beantest::GIVES,
            planned: &[],
            run: beantest::run,
        },
        Reckoner {
            name: "bean test figures",
            reads: beantest::READS,
            gives: beanfigures::GIVES,
            planned: &[],
            run: beanfigures::run,
        },
        Reckoner {
            name: "causes",
            reads: causes::READS,
            gives: causes::GIVES,
            planned: &[],
            run: causes::run,
        },
        Reckoner { name: "heat held", reads: heat::READS, gives: heat::GIVES, planned: &[], run: heat::run },
        Reckoner {
            name: "heat rule",
            reads: heatrule::READS,
            gives: heatrule::GIVES,
            planned: &[],
            run: heatrule::run,
        },
        Reckoner {
            name: "layout",
            reads: layout::READS,
            gives: layout::GIVES,
            planned: &[],
            run: layout::run,
        },
        Reckoner {
            name: "lineage",
            reads: lineage::READS,
            gives: lineage::GIVES,
            planned: lineage::PLANNED,
            run: lineage::run,
        },
        Reckoner {
            name: "outbreak",
            reads: outbreak::READS,
            gives: outbreak::GIVES,
            planned: &[],
            run: outbreak::run,
        },
        Reckoner {
            name: "residue",
            reads: residue::READS,
            gives: residue::GIVES,
            planned: &[],
            run: residue::run,
        },
        Reckoner {
            name: "test plan",
            reads: testplan::READS,
            gives: testplan::GIVES,
            planned: &[],
            run: testplan::run,
        },
        Reckoner { name: "trial", reads: trial::READS, gives: trial::GIVES, planned: &[], run: trial::run },
    ]
}

/// Names the inputs of a reckoner and lists their sentences in the same order.
macro_rules! inputs {
    ($($kind:ident = $text:literal,)*) => {
        /// The sentences read, as declared.
        pub const READS: &[&str] = &[$($text),*];
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        enum Input { $($kind),* }
        const INPUTS: &[Input] = &[$(Input::$kind),*];
    };
}
use inputs;

#[cfg(test)]
mod tests;
