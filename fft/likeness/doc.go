// Package likeness takes samples in and says which recording they are: in the pass
// that decodes a capture it takes a hash of each channel's samples and a sketch of
// its noise; of two sketches, and where they agree of the samples, it says whether
// they are one recording. It also tells a wrong rate label by the comb of the mains,
// and names the odd files of a folder. It may not read a file by itself, nor say a
// sentence: answers are codes with arguments.
//
// What is correlated is the noise. Hum always correlates: two recordings of one
// bench on one mains are alike to 0.997. So spectra are whitened, lines cut out, and
// what still stands at one frequency is held down (Knapp & Carter 1976 on weighting
// correlation by frequency; from memory).
//
// The way through:
//
//	pass := likeness.NewPass(src.Rate(), src.Frames(), src.Channels())
//	pass.Push(frames)       // whatever is decoded, in order
//	marks := pass.Marks()   // at the end: one a channel
//	…
//	pairs := likeness.Suspects(marks)          // of many channels, some milliseconds a pair
//	answer, err := likeness.Compare(ctx, a, b) // of two; reads samples where sketches agree
//
// Marks are plain values and may be kept with a result: Compare and Suspects then hold a
// new capture against earlier ones. Beside them stand pure functions: JudgeRate of Peaks,
// OddOnes of Facts, NamesDiffer of two names.
package likeness
