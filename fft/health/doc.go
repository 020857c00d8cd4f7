// Package health says what the samples of a capture betray about how it was
// recorded: clipping, dropouts, repeated blocks, clicks, too few codes,
// channels that are copies of each other. It needs no spectrum and no mains, so
// it works on captures too short to measure.
//
// Each fact has an accumulator of its own, fed the samples block by block as
// they pass. They share one look at every sample (glance.go) and read a block
// again only where that look says something might be there; together they take
// a few nanoseconds a sample. Facts are data: warnings.go says them in words.
package health
