// Package disk is the disk beneath SQLite as a test wants it: a layer over
// SQLite's own file system that writes down all that happens to the files of a
// folder, so that the power can be cut at any point of it afterwards, and that
// fails where it is told to. The store above it knows nothing of it. It is used
// by tests only and never by the program.
//
// What a cut leaves behind is drawn: what was synced is there, of what was not
// each 512 bytes are there or not, in any order, and so are files that were made
// or removed. Two promises of a disk are kept, since SQLite builds on them too
// (sqlite.org/atomiccommit.html, section 2, and sqlite.org/psow.html): a sync that
// came back has brought to the disk what was written before, and a write that is
// cut off harms no bytes beside those it was to write.
package disk
