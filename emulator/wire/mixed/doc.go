// Package mixed takes a stream apart in which messages of several families follow one another, cut anywhere, with
// rubbish between them.
//
// Read splitter.go. A family is told apart by its own judgement alone, [wire.Family].Probe; families that stand first
// are asked first, so a message that a person described comes before the general families.
//
// To add a family, nothing is to be done here: it is one more argument of [New].
package mixed
