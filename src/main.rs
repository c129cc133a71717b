//! The `lengthwise` program: everything is in the library's `cli`.

fn main() -> std::process::ExitCode {
    lengthwise::cli::main()
}
