// Package units holds quantities with a dimension: SI in memory, and in files a number with its unit, as in "8 kn",
// "1.2 m", "250 ms", "0.5 deg/h".
//
// A number without a unit is refused, and so is a unit of another dimension; the texts of the errors say what is
// allowed. Conversions are exact to the last bit: "1.2 mm" is the float64 nearest to 0.0012, and what String writes
// reads back as the very same value.
//
// Read table.go first: a unit is one row there. A new dimension is one more table entry and one more type in
// units.go.
package units
