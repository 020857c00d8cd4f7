// Package health takes in a capture's samples and gives out what they betray of how
// it was recorded (clipping, dropouts, repeated blocks, clicks, too few codes,
// channels that are copies of each other); it may not use a spectrum or the mains, so
// it works on captures too short to measure, and it says no sentence.
//
// Each fact has an accumulator of its own, fed the samples block by block as
// they pass. They share one look at every sample (glance.go) and read a block
// again only where that look says something might be there; together they take
// a few nanoseconds a sample. Facts are data: warnings.go turns them into codes.
package health
