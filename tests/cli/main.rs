//! The program as a grower types it: real commands, real folders, real exit codes.

mod causes;
mod commands;
mod grower;
mod hostile;
mod newcomer;
mod readme;
mod recipes;
mod tidying;
mod trouble;
mod watching;
