[b]heron-near.wav against heron-quiet.wav, channel 1[/b]
[list]
[*]quiet: heron-quiet.wav, channel 1, 0 s to 60 s, 96 kHz, 24 bit; mains 49.9812 Hz ±0.0004 Hz
[*]near: heron-near.wav, channel 1, 90 s to 150 s, 96 kHz, 24 bit; mains 50.0127 Hz ±0.0002 Hz
[/list]
[table]
[tr][th]harmonic[/th][th]frequency, Hz[/th][th]quiet, dBFS[/th][th]near, dBFS[/th][th]delta, dB[/th][th]pickup, nV rms[/th][th]floor, dBFS/Hz[/th][/tr]
[tr][td]1[/td][td]50.00[/td][td]-120.14 ±0.10[/td][td]-101.92 ±0.02[/td][td]18.22 ±0.10[/td][td]140 to 181[/td][td]-145.1[/td][/tr]
[tr][td]2[/td][td]99.99[/td][td]-126.7 ±0.2[/td][td]-130.1 ±0.2[/td][td]-3.4 ±0.3[/td][td]2.67 to 15.9[/td][td]-146.9[/td][/tr]
[tr][td]3[/td][td]149.99[/td][td]-123.8 ±0.1[/td][td]-113.14 ±0.04[/td][td]10.6 ±0.1[/td][td]30.8 to 57.3[/td][td]-147.7[/td][/tr]
[tr][td]4[/td][td]199.99[/td][td]-150.2 -2.2/+1.8[/td][td]-133.8 ±0.3[/td][td]16.4 -1.8/+2.2[/td][td]3.18 to 4.98[/td][td]-148.1[/td][/tr]
[tr][td]5[/td][td]249.98[/td][td]-139.2 -0.6/+0.5[/td][td]-121.53 ±0.08[/td][td]17.6 -0.5/+0.6[/td][td]14.3 to 19.3[/td][td]-148.4[/td][/tr]
[tr][td]6[/td][td]299.98[/td][td]-147.0 -1.4/+1.2[/td][td]-135.3 -0.4/+0.3[/td][td]11.7 -1.2/+1.4[/td][td]2.27 to 4.60[/td][td]-148.7[/td][/tr]
[tr][td]7[/td][td]349.98[/td][td]-134.4 ±0.3[/td][td]-122.34 ±0.08[/td][td]12.1 ±0.3[/td][td]11.2 to 19.4[/td][td]-148.8[/td][/tr]
[tr][td]8[/td][td]399.98[/td][td]below -154.3[/td][td]-139.7 -0.6/+0.5[/td][td]at least 14.0[/td][td]1.55 to 2.58[/td][td]-148.9[/td][/tr]
[tr][td]9[/td][td]449.97[/td][td]-135.6 ±0.3[/td][td]-119.32 ±0.06[/td][td]16.2 ±0.3[/td][td]18.0 to 25.3[/td][td]-149.0[/td][/tr]
[tr][td]10[/td][td]499.97[/td][td]-151.9 -2.5/+1.9[/td][td]-141.1 -0.7/+0.6[/td][td]10.9 -2.0/+2.5[/td][td]1.01 to 2.52[/td][td]-149.1[/td][/tr]
[tr][td]11[/td][td]549.97[/td][td]-136.4 ±0.4[/td][td]-122.29 ±0.08[/td][td]14.2 ±0.4[/td][td]12.1 to 18.6[/td][td]-149.2[/td][/tr]
[tr][td]12[/td][td]599.96[/td][td]below -156.6[/td][td]-139.5 ±0.5[/td][td]at least 16.5[/td][td]1.69 to 2.53[/td][td]-149.2[/td][/tr]
[tr][td]13[/td][td]649.96[/td][td]-142.9 -0.8/+0.7[/td][td]-128.5 ±0.2[/td][td]14.4 -0.7/+0.8[/td][td]5.81 to 9.17[/td][td]-149.3[/td][/tr]
[tr][td]14[/td][td]699.96[/td][td]-154.4 -3.3/+2.4[/td][td]-143.4 ±0.8[/td][td]11.0 -2.6/+3.4[/td][td]0.723 to 1.97[/td][td]-149.3[/td][/tr]
[tr][td]15[/td][td]749.95[/td][td]-146.5 -1.2/+1.1[/td][td]-130.1 ±0.2[/td][td]16.4 -1.1/+1.2[/td][td]5.04 to 7.43[/td][td]-149.4[/td][/tr]
[tr][td]16[/td][td]799.95[/td][td]below -156.4[/td][td]-151.0 -2.1/+1.7[/td][td]at least 3.3[/td][td]0.141 to 0.988[/td][td]-149.4[/td][/tr]
[tr][td]17[/td][td]849.95[/td][td]-143.7 ±0.8[/td][td]-131.0 ±0.2[/td][td]12.7 -0.8/+0.9[/td][td]4.10 to 7.21[/td][td]-149.4[/td][/tr]
[tr][td]18[/td][td]899.95[/td][td]below -157.1[/td][td]-152.9 -2.7/+2.1[/td][td]at least 1.5[/td][td]0.055 to 0.856[/td][td]-149.4[/td][/tr]
[tr][td]19[/td][td]949.94[/td][td]-154.4 -3.2/+2.4[/td][td]-136.1 -0.4/+0.3[/td][td]18.2 -2.4/+3.3[/td][td]2.50 to 3.75[/td][td]-149.5[/td][/tr]
[tr][td]20[/td][td]999.94[/td][td]below -154.9[/td][td]-150.9 -2.1/+1.7[/td][td]at least 1.9[/td][td]0.091 to 1.05[/td][td]-149.5[/td][/tr]
[tr][td]21[/td][td]1049.94[/td][td]-150.8 -2.0/+1.6[/td][td]-139.2 ±0.5[/td][td]11.6 -1.7/+2.1[/td][td]1.38 to 3.02[/td][td]-149.5[/td][/tr]
[tr][td]22[/td][td]1099.93[/td][td]below -156.2[/td][td]-153.7 -3.0/+2.2[/td][td]at least -0.5[/td][td]below 0.842[/td][td]-149.5[/td][/tr]
[tr][td]23[/td][td]1149.93[/td][td]below -157.3[/td][td]-136.9 ±0.4[/td][td]at least 19.9[/td][td]2.45 to 3.24[/td][td]-149.5[/td][/tr]
[tr][td]25[/td][td]1249.92[/td][td]-148.8 -1.5/+1.3[/td][td]-137.3 ±0.4[/td][td]11.5 -1.4/+1.6[/td][td]1.76 to 3.69[/td][td]-149.6[/td][/tr]
[tr][td]27[/td][td]1349.92[/td][td]below -155.0[/td][td]-142.2 -0.7/+0.6[/td][td]at least 12.1[/td][td]1.08 to 2.03[/td][td]-149.6[/td][/tr]
[tr][td]29[/td][td]1449.91[/td][td]below -157.1[/td][td]-143.2 -0.8/+0.7[/td][td]at least 13.1[/td][td]0.981 to 1.78[/td][td]-149.6[/td][/tr]
[tr][td]31[/td][td]1549.91[/td][td]below -156.8[/td][td]-140.6 -0.6/+0.5[/td][td]at least 15.6[/td][td]1.47 to 2.28[/td][td]-149.6[/td][/tr]
[tr][td]33[/td][td]1649.90[/td][td]below -155.0[/td][td]-142.4 ±0.7[/td][td]at least 11.9[/td][td]1.04 to 1.99[/td][td]-149.6[/td][/tr]
[tr][td]35[/td][td]1749.89[/td][td]below -156.8[/td][td]-146.9 -1.2/+1.1[/td][td]at least 8.7[/td][td]0.501 to 1.31[/td][td]-149.7[/td][/tr]
[tr][td]37[/td][td]1849.89[/td][td]below -157.1[/td][td]-146.2 -1.1/+1.0[/td][td]at least 9.8[/td][td]0.586 to 1.38[/td][td]-149.7[/td][/tr]
[tr][td]39[/td][td]1949.88[/td][td]below -155.1[/td][td]-143.9 -0.9/+0.8[/td][td]at least 10.3[/td][td]0.801 to 1.74[/td][td]-149.7[/td][/tr]
[tr][td]41[/td][td]2049.87[/td][td]below -156.5[/td][td]-147.2 -1.3/+1.1[/td][td]at least 8.1[/td][td]0.463 to 1.29[/td][td]-149.7[/td][/tr]
[tr][td]43[/td][td]2149.87[/td][td]below -157.4[/td][td]-150.6 -1.9/+1.6[/td][td]at least 4.8[/td][td]0.203 to 0.974[/td][td]-149.7[/td][/tr]
[tr][td]45[/td][td]2249.86[/td][td]below -155.2[/td][td]-148.5 -1.5/+1.3[/td][td]at least 5.2[/td][td]0.286 to 1.21[/td][td]-149.7[/td][/tr]
[tr][td]46[/td][td]2299.86[/td][td]-148.9 -1.5/+1.3[/td][td]below -155.1[/td][td]at most -4.6[/td][td]0.251 to 1.19[/td][td]-149.7[/td][/tr]
[tr][td]47[/td][td]2349.86[/td][td]below -156.2[/td][td]-147.4 -1.3/+1.1[/td][td]at least 7.5[/td][td]0.428 to 1.28[/td][td]-149.7[/td][/tr]
[tr][td]49[/td][td]2449.85[/td][td]below -157.6[/td][td]-151.6 -2.2/+1.7[/td][td]at least 3.9[/td][td]0.150 to 0.909[/td][td]-149.7[/td][/tr]
[tr][td]51[/td][td]2549.84[/td][td]below -155.5[/td][td]-153.5 -2.8/+2.1[/td][td]at least -0.9[/td][td]below 0.872[/td][td]-149.7[/td][/tr]
[tr][td]53[/td][td]2649.84[/td][td]below -155.9[/td][td]-150.7 -1.9/+1.6[/td][td]at least 3.2[/td][td]0.147 to 1.02[/td][td]-149.7[/td][/tr]
[tr][td]55[/td][td]2749.83[/td][td]below -157.7[/td][td]-151.0 -2.0/+1.6[/td][td]at least 4.6[/td][td]0.185 to 0.939[/td][td]-149.7[/td][/tr]
[tr][td]61[/td][td]3049.81[/td][td]below -157.6[/td][td]-152.9 -2.6/+2.0[/td][td]at least 2.2[/td][td]0.076 to 0.832[/td][td]-149.8[/td][/tr]
[tr][td]63[/td][td]3149.81[/td][td]below -156.2[/td][td]-154.8 -3.4/+2.4[/td][td]at least -2.0[/td][td]below 0.788[/td][td]-149.8[/td][/tr]
[tr][td]hum[/td][td]100 lines[/td][td]-117.6 ±0.1[/td][td]-101.4 ±0.1[/td][td]16.3 ±0.2[/td][td]142 to 200[/td][td][/td][/tr]
[/table]
[list]
[*]58 more lines were not found in either capture: their detection limits run from -157.7 to -155.0 dBFS.
[*]Noise without hum and tones, 20 Hz to 20 kHz: unweighted -107.0 dBFS in quiet, -106.9 dBFS in near; A-weighted -109.3 dBFS in quiet, -109.2 dBFS in near; weighted by ITU-R BS.468-4 (rms detector) -98.8 dBFS in quiet, -98.8 dBFS in near.
[*]Tones in quiet not counted as hum: 8000 Hz at -131.4 dBFS.
[*]Tones in near not counted as hum: 11200.41 Hz at -126.1 dBFS, 8000 Hz at -131.4 dBFS.
[*]Spectrum: bins 0.732 Hz apart, noise bandwidth of a bin 1.480 Hz (nuttall window).
[/list]
[list]
[*]Behind each value: its 95 % interval, from recording noise alone. "Below": the line was not found, and lies below its detection limit.
[*]0 dBFS is the rms of a full-scale sine (AES17). Floor: noise density at the line, in a band of 1 Hz; the floor is near's. Frequency: the mean of both captures' lines.
[*]Volts: 0 dBFS is 20.0 mV rms at the input, -33.98 dBV, -31.76 dBu (2.0V less 40 dB of gain; what the full scale and the gain may be off by was not given, and is in no interval).
[*]Intervals in volts, dBV and dBu hold the scale's uncertainty as far as it is known; those in dBFS, and deltas, recording noise alone.
[/list]
[list]
[*]Warning: Quiet hum is within 20 dB of near hum in 9 lines: their pickup is known only as a wide range. (quiet_near: heron-near.wav, channel 1)
[*]Warning: The tone at 8000 Hz is fixed in frequency: it is not counted as mains hum. (bus_tone: heron-quiet.wav, channel 1)
[/list]
