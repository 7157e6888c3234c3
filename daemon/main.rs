//! The program `tickover`: hands its arguments to the command room.

fn main() {}
