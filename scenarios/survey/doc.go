// Package survey turns an installation sheet (points measured with tape or total station, marks on the device) into
// what is to be typed where: mounting angles, baseline and lever arms, each with its standard deviation, the same
// numbers in the usual conventions, checks of the sheet against itself, and the readings to expect for a stated pose.
//
// A sheet has sets of points. Each set was measured along stated axes ("forward-right-down", in any order of such
// words) from a stated origin, or along axes of a total station ("north-east-up", "free"); the latter are tied to the
// vessel by three or more points that they have in common with sets before. Device marks are points of a set whose
// place in the device's own axes is known; a rotation fitted to them (package doc of [FitRotation]) is the mounting.
//
// Every measured coordinate is one input quantity with a standard deviation of its own, independent of the others.
// All that is told is a function of the inputs, worked out anew with each of them moved by its standard deviation to
// either side (JCGM 100:2008, 5.1.2 and the note to 5.1.3), so that what two numbers share, such as one tie, counts
// once and with its sign. The axes and signs are those of package frame.
//
// Read sheet.go first (the file), then solve.go (from inputs to places), propagate.go and report.go. A new thing to
// tell is a field of [Report] and a paragraph in text.go; a new check is a function in the table in checks.go.
package survey
