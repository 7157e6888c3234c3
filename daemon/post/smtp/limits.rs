//! How long each step of a sending may take.

use std::time::Duration;

/// How long each step of a sending may take, and the whole of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SendLimits {
    /// Finding the server and connecting to it, all its addresses together.
    pub connecting: Duration,
    /// Each of: the greeting, securing the connection.
    pub greeting: Duration,
    /// Each command up to the message.
    pub command: Duration,
    /// Handing over each piece of the message.
    pub piece: Duration,
    /// The answer to the whole message.
    pub last_answer: Duration,
    /// Saying goodbye; what it gives changes nothing any more.
    pub goodbye: Duration,
    /// Everything together.
    pub total: Duration,
}

impl Default for SendLimits {
    /// RFC 5321, 4.5.3.2 asks for 10 minutes for the last answer, because a server that is taken for lost too early
    /// delivers the letter twice, and 3 minutes for a piece. Its 5 minutes for the steps before are shortened here (our
    /// decision): a sending that ends there is merely made again.
    fn default() -> SendLimits {
        let seconds = Duration::from_secs;
        SendLimits {
            connecting: seconds(60),
            greeting: seconds(60),
            command: seconds(60),
            piece: seconds(3 * 60),
            last_answer: seconds(10 * 60),
            goodbye: seconds(5),
            total: seconds(20 * 60),
        }
    }
}
