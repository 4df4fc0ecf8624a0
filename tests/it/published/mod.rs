//! Published values: every link of the chain against its source, to the printed digits.
mod l10_markov;
