// Package judge takes what was measured, and says what follows from it: what
// changed from quiet to near, what repeats of it come to, which cables can be
// told apart, whether claims hold, what could still explain it all, and whether
// it may be published. Values of package model go in and come out. It reads no
// file, knows no sentence, and changes nothing it is given.
//
// # A pair
//
// Delta, Pickup and the totals are made of two levels each: see delta.go. A floor is
// never subtracted from a floor, and near below quiet is cancellation or a changed bench,
// never immunity. What keeps a result from print is in rules.go; what speaks against a
// headline, such as a tone stronger than the hum total, in gate.go.
//
// # One near run of a session
//
// It is compared with the quiet runs of its cable just before and after it. Quiet is taken
// to lie anywhere between the lower end of the lower and the upper end of the higher, so
// drift is in. With quiet on one side only, the largest step from one quiet run of a cable
// to its next, of the whole session, widens both ends (drift.go). Where nobody has said in
// which order runs were made, near is compared with every quiet run of its cable.
//
// # Mean over placements
//
// Repeats whose lead wasn't replaced are averaged first: they are one placement. Averages
// are of decibels, as placing the lead again multiplies the pickup. A pickup is a range, so
// both ends are averaged, each with its own scatter; the 95 % interval reaches from the
// lower end's 97.5 % lower bound to the upper end's upper one, each by Student's t (J. L.
// Horowitz and C. F. Manski 2000: a partly identified mean). It holds whatever the phases
// did, as long as placements are independent. A pickup that may be zero is censored from
// below. One placement has no interval. A cable rose where every placement lies above
// quiet by more than its own uncertainty and any change between successive quiet runs.
//
// # Two cables, rankings, claims
//
// Two cables differ by Welch's statistic with the degrees of freedom of the smaller sample
// (student.go). A ranking is all pairs of one exposure and termination, two-sided, adjusted
// by Holm; groups are the largest sets of which no two are told apart. A claim is supported
// or refuted where the interval lies wholly on one side, so wrong in at most 2.5 % either
// way. Over several places it is supported where each part is, and refuted where any is, at
// 2.5 % divided by their number. Controls can only take a verdict back:
//
//	positive control rose             for support of below and rise: else nothing may have been delivered
//	quiet near the residual           for support of rise: a noisy bench hides any rise
//	unplugged lead not as high        for all but support of below and rise: else it isn't the mains
//	no placement beyond the claim     for support of below and rise: a counterexample isn't averaged away
//	two placements                    for everything: one has no spread
//
// Simulated (fixtures/sessions): see fixtures/proof.
package judge
