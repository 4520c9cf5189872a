//! Documents read back by an independent reader of PDF, and pages checked for what no eye should
//! have to find: text over text, text beyond the paper, text lost.

mod pages;
mod pdf_file;
