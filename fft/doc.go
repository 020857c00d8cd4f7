// Package fft turns samples into averaged spectra: windows with their exact
// transforms, blocks cut from a stream and transformed two at a time, Welch's
// average, and decimation to the band where hum lines lie. It knows nothing of
// files, and nothing of mains.
//
// Powers are relative to the mean square of a full-scale sine, so 1 is 0 dBFS
// as AES17 defines it; densities are one-sided and per hertz. Samples have full
// scale ±1, so a power is twice the mean square of the samples, and a full-scale
// square wave reads +3.01 dBFS. A phasor is the complex half-amplitude a: A·cos(2πft + φ)
// has a = A/2·e^{iφ}, and power 4|a|².
//
// Density: P[j] = 4·mean|X[j]|²/(R·Σw²), 2 for one side and 2 for the full-scale
// sine's mean square of ½. The effective number of independent blocks is
// K/[1 + 2·Σ(1−j/K)·c_j²], c_j the window's autocorrelation at j hops (P. D. Welch 1967).
//
// Two real blocks share one complex transform, a conjugate-pair split radix of our
// own. go-dsp's transform stands behind the same Engine as a second opinion, for
// tests and for verify: with powers of two only, as its Bluestein path loses digits as
// lengths grow, and with one worker, as it is slower with more.
//
// Decimation halves the rate by windowed sincs with Kaiser's window (J. F. Kaiser 1974),
// aliases 150 dB down.
package fft
