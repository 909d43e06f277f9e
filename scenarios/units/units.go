package units

// A Length is in m.
type Length float64

// An Angle is in rad.
type Angle float64

// A Duration is in s.
type Duration float64

// A Speed is in m/s.
type Speed float64

// A Frequency is in Hz.
type Frequency float64

// An AngularRate is in rad/s.
type AngularRate float64

// A Mass is in kg.
type Mass float64

// An Acceleration is in m/s².
type Acceleration float64

// ParseLength reads a length such as "1.2 m", in any unit of the table.
func ParseLength(s string) (Length, error) { return parseAs[Length](&length, s) }

// ParseAngle reads an angle such as "90 deg", in any unit of the table.
func ParseAngle(s string) (Angle, error) { return parseAs[Angle](&angle, s) }

// ParseDuration reads a duration such as "250 ms", in any unit of the table.
func ParseDuration(s string) (Duration, error) { return parseAs[Duration](&duration, s) }

// ParseSpeed reads a speed such as "8 kn", in any unit of the table.
func ParseSpeed(s string) (Speed, error) { return parseAs[Speed](&speed, s) }

// ParseFrequency reads a frequency such as "10 Hz", in any unit of the table.
func ParseFrequency(s string) (Frequency, error) { return parseAs[Frequency](&frequency, s) }

// ParseAngularRate reads an angular rate such as "0.5 deg/h", in any unit of the table.
func ParseAngularRate(s string) (AngularRate, error) { return parseAs[AngularRate](&angularRate, s) }

// ParseMass reads a mass such as "62 t", in any unit of the table.
func ParseMass(s string) (Mass, error) { return parseAs[Mass](&mass, s) }

// ParseAcceleration reads an acceleration such as "9.81 m/s2", in any unit of the table.
func ParseAcceleration(s string) (Acceleration, error) {
	return parseAs[Acceleration](&acceleration, s)
}

// String writes the value in a fitting unit, so that [ParseLength] reads back the very same value.
func (x Length) String() string { return length.format(float64(x)) }

// String writes the value in a fitting unit, so that [ParseAngle] reads back the very same value.
func (x Angle) String() string { return angle.format(float64(x)) }

// String writes the value in a fitting unit, so that [ParseDuration] reads back the very same value.
func (x Duration) String() string { return duration.format(float64(x)) }

// String writes the value in a fitting unit, so that [ParseSpeed] reads back the very same value.
func (x Speed) String() string { return speed.format(float64(x)) }

// String writes the value in a fitting unit, so that [ParseFrequency] reads back the very same value.
func (x Frequency) String() string { return frequency.format(float64(x)) }

// String writes the value in a fitting unit, so that [ParseAngularRate] reads back the very same value.
func (x AngularRate) String() string { return angularRate.format(float64(x)) }

// String writes the value in a fitting unit, so that [ParseMass] reads back the very same value.
func (x Mass) String() string { return mass.format(float64(x)) }

// String writes the value in a fitting unit, so that [ParseAcceleration] reads back the very same value.
func (x Acceleration) String() string { return acceleration.format(float64(x)) }

// In writes the value in the unit of that symbol, as lossless as [Length.String]; where there is no such unit it
// does what String does.
func (x Length) In(symbol string) string { return length.in(symbol, float64(x)) }

// In writes the value in the unit of that symbol; see [Length.In].
func (x Angle) In(symbol string) string { return angle.in(symbol, float64(x)) }

// In writes the value in the unit of that symbol; see [Length.In].
func (x Duration) In(symbol string) string { return duration.in(symbol, float64(x)) }

// In writes the value in the unit of that symbol; see [Length.In].
func (x Speed) In(symbol string) string { return speed.in(symbol, float64(x)) }

// In writes the value in the unit of that symbol; see [Length.In].
func (x Frequency) In(symbol string) string { return frequency.in(symbol, float64(x)) }

// In writes the value in the unit of that symbol; see [Length.In].
func (x AngularRate) In(symbol string) string { return angularRate.in(symbol, float64(x)) }

// In writes the value in the unit of that symbol; see [Length.In].
func (x Mass) In(symbol string) string { return mass.in(symbol, float64(x)) }

// In writes the value in the unit of that symbol; see [Length.In].
func (x Acceleration) In(symbol string) string { return acceleration.in(symbol, float64(x)) }

// UnmarshalText reads what [ParseLength] reads; after an error x is as it was.
func (x *Length) UnmarshalText(b []byte) error { return unmarshal(&length, x, b) }

// UnmarshalText reads what [ParseAngle] reads; after an error x is as it was.
func (x *Angle) UnmarshalText(b []byte) error { return unmarshal(&angle, x, b) }

// UnmarshalText reads what [ParseDuration] reads; after an error x is as it was.
func (x *Duration) UnmarshalText(b []byte) error { return unmarshal(&duration, x, b) }

// UnmarshalText reads what [ParseSpeed] reads; after an error x is as it was.
func (x *Speed) UnmarshalText(b []byte) error { return unmarshal(&speed, x, b) }

// UnmarshalText reads what [ParseFrequency] reads; after an error x is as it was.
func (x *Frequency) UnmarshalText(b []byte) error { return unmarshal(&frequency, x, b) }

// UnmarshalText reads what [ParseAngularRate] reads; after an error x is as it was.
func (x *AngularRate) UnmarshalText(b []byte) error { return unmarshal(&angularRate, x, b) }

// UnmarshalText reads what [ParseMass] reads; after an error x is as it was.
func (x *Mass) UnmarshalText(b []byte) error { return unmarshal(&mass, x, b) }

// UnmarshalText reads what [ParseAcceleration] reads; after an error x is as it was.
func (x *Acceleration) UnmarshalText(b []byte) error { return unmarshal(&acceleration, x, b) }

// SchemaPattern gives the regular expression of the text form, and examples, for the JSON Schema.
func (Length) SchemaPattern() (string, []string) { return length.pattern(), length.examples }

// SchemaPattern gives the regular expression of the text form, and examples, for the JSON Schema.
func (Angle) SchemaPattern() (string, []string) { return angle.pattern(), angle.examples }

// SchemaPattern gives the regular expression of the text form, and examples, for the JSON Schema.
func (Duration) SchemaPattern() (string, []string) { return duration.pattern(), duration.examples }

// SchemaPattern gives the regular expression of the text form, and examples, for the JSON Schema.
func (Speed) SchemaPattern() (string, []string) { return speed.pattern(), speed.examples }

// SchemaPattern gives the regular expression of the text form, and examples, for the JSON Schema.
func (Frequency) SchemaPattern() (string, []string) { return frequency.pattern(), frequency.examples }

// SchemaPattern gives the regular expression of the text form, and examples, for the JSON Schema.
func (AngularRate) SchemaPattern() (string, []string) {
	return angularRate.pattern(), angularRate.examples
}

// SchemaPattern gives the regular expression of the text form, and examples, for the JSON Schema.
func (Mass) SchemaPattern() (string, []string) { return mass.pattern(), mass.examples }

// SchemaPattern gives the regular expression of the text form, and examples, for the JSON Schema.
func (Acceleration) SchemaPattern() (string, []string) {
	return acceleration.pattern(), acceleration.examples
}
