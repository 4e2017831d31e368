//! Every session written down in `tests/lsp/sessions/` goes as written.

use std::{fs, path::Path};

use crate::script;

/// Runs the session of that name.
fn session(name: &str) {
    script::file(&folder().join(format!("{name}.txt")));
}

fn folder() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/lsp/sessions")
}

macro_rules! sessions {
    ($($name:ident)*) => {
        $(
            #[test]
            fn $name() {
                session(stringify!($name));
            }
        )*

        #[test]
        fn every_session_written_down_is_run() {
            let mut there: Vec<String> = fs::read_dir(folder())
                .expect("sessions")
                .map(|e| e.expect("an entry").path().file_stem().expect("a name").to_string_lossy().into_owned())
                .collect();
            there.sort();
            let mut run = vec![$(stringify!($name).to_owned()),*];
            run.sort();
            assert_eq!(there, run);
        }
    };
}

sessions! {
    a_name_is_known_everywhere
    a_page_is_written_with_as_much_care
    built_in_pages_open_where_the_editor_can_show_them
    findings_follow_every_keystroke
    much_is_read_between_the_lines
    files_changed_outside_are_read_again
    columns_count_what_was_agreed
    entries_are_written_evenly
    several_folders_are_several_farms
    the_next_words_are_offered
    unknown_and_unclear_messages_do_no_harm
    what_is_asked_for_is_given_and_asked_again
    what_is_said_can_be_acted_on
}
