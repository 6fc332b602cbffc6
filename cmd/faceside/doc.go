// Command faceside is the program: it reads the command line, opens the shop's
// folder, and puts the store, the planner and the screens together. It holds no
// rule of the shop, no SQL and no page.
package main
