//! `cullet help`: explains a command, or what files and words are about.

use crate::arguments::Arguments;
use crate::{Exit, Session};
use clap::CommandFactory;
use cullet_job::{Finding, Findings, nearest_name};

/// The topics, each with what it is about.
pub(super) const TOPICS: [(&str, &str); 11] = [
    ("words", include_str!("help/words.txt")),
    ("job", include_str!("help/job.txt")),
    ("pieces", include_str!("help/pieces.txt")),
    ("shapes", include_str!("help/shapes.txt")),
    ("drawings", include_str!("help/drawing.txt")),
    ("stock", include_str!("help/stock.txt")),
    ("shop", include_str!("help/shop.txt")),
    ("racks", include_str!("help/rack.txt")),
    ("choices", include_str!("help/choices.txt")),
    ("breaking", include_str!("help/breaking.txt")),
    ("files", include_str!("help/files.txt")),
];

pub(super) fn help(about: &[String], session: &mut Session<'_>) -> Exit {
    if let [topic] = about
        && let Some((_, text)) = TOPICS.iter().find(|(name, _)| name == topic)
    {
        session.print(text);
        return Exit::Done;
    }
    let mut command = Arguments::command();
    command.build();
    let mut found = &mut command;
    for name in about {
        if found.find_subcommand(name).is_none() {
            session.say(&unknown(name, found));
            return Exit::BadInput;
        }
        found = match found.find_subcommand_mut(name) {
            Some(found) => found,
            None => return Exit::Internal,
        };
    }
    session.print(&found.render_long_help().to_string());
    Exit::Done
}

fn unknown(name: &str, command: &clap::Command) -> Findings {
    let commands = command.get_subcommands().filter(|command| !command.is_hide_set());
    let known: Vec<&str> = commands
        .map(clap::Command::get_name)
        .chain(TOPICS.map(|(topic, _)| topic))
        .collect();
    let near =
        nearest_name(name, known.iter().copied()).map_or_else(String::new, |near| format!("Did you mean \"{near}\"? "));
    Findings(vec![Finding {
        file: "command line".into(),
        place: "help".into(),
        found: format!("\"{name}\""),
        expected: "a command or a topic".into(),
        hint: format!("{near}There are: {}.", known.join(", ")),
    }])
}
