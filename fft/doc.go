// Package fft turns samples into averaged spectra: windows with their exact
// transforms, blocks cut from a stream and transformed two at a time, Welch's
// average, and decimation to the band where hum lines lie.
//
// Powers are relative to the mean square of a full-scale sine, so 1 is 0 dBFS
// as AES17 defines it; densities are one-sided and per hertz.
package fft
