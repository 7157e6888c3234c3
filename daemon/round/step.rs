//! The steps of a round that leave a trace outside its process: between any two of them it may be ended.

use crate::post;

/// A step, told as it is reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Step {
    /// The round is about to be kept, with its letter.
    Keeping,
    /// It is kept.
    Kept,
    /// A letter's copy is about to be put into the folder.
    Copying,
    /// It stands there, which is not noted yet.
    Copied,
    /// That a mail is being sent is about to be noted.
    Beginning,
    /// It is noted, and nothing of the mail has gone out.
    Begun,
    /// A mail is under way.
    Talk(post::Step),
    /// What became of a mail is about to be noted.
    Noting,
    /// It is noted.
    Noted,
}
