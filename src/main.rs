//! The program: hands the command line to the library and its exit code to the shell.

fn main() -> std::process::ExitCode {
    haulm::cli::main()
}
