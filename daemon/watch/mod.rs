//! Says that a folder has changed and settled, and gives files whole or not at all; never acts itself.
