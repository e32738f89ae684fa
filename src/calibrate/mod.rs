//! A photo and the user's marks to a dial file.
