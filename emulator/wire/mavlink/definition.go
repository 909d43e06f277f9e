package mavlink

import (
	"cmp"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
)

// A Definition is what follows for a message from the fields of its struct: the order on the wire, lengths, and the
// byte that goes into the checksum.
type Definition struct {
	ID       uint32 // 24 bits; those above 255 do not exist in version 1
	Name     string
	Fields   []FieldDef // in wire order, extension fields last
	Base     int        // length of the payload without extension fields, bytes
	Full     int        // with them
	CRCExtra byte
}

// A FieldDef is one field of a message.
type FieldDef struct {
	Name      string
	Type      string // as the definitions have it, such as uint16_t or float
	Unit      string
	Offset    int // in the payload, bytes
	Size      int // of one element, bytes
	Length    int // elements of an array; 0 if it is none
	Extension bool
	None      []uint64 // the bits that say that the value is not known

	index int // in the struct
}

// Bytes is the length of the field, in bytes.
func (f *FieldDef) Bytes() int { return f.Size * max(f.Length, 1) }

var typeNames = map[reflect.Kind]string{
	reflect.Uint8: "uint8_t", reflect.Uint16: "uint16_t", reflect.Uint32: "uint32_t", reflect.Uint64: "uint64_t",
	reflect.Int8: "int8_t", reflect.Int16: "int16_t", reflect.Int32: "int32_t", reflect.Int64: "int64_t",
	reflect.Float32: "float", reflect.Float64: "double",
}

// define works out the definition of a message from its struct, whose fields stand in the order of the open definitions.
//
// Tags: mav is the name; unit; ext marks an extension field; none are the values that say not known. Base fields are
// sorted by the size of their elements, large ones first, equal ones as they stand; extension fields follow as they
// stand. CRC_EXTRA is the checksum over "NAME " and, for each base field in wire order, "type name " and for an array its
// length as one byte; its two bytes are then combined by exclusive-or. Source: MAVLink developer guide, packet
// serialization: field reordering, CRC_EXTRA calculation.
func define(id uint32, name string, m any) *Definition {
	d := &Definition{ID: id, Name: name}
	t := reflect.TypeOf(m)
	for i := range t.NumField() {
		f := t.Field(i)
		d.Fields = append(d.Fields, fieldDef(i, f))
	}
	slices.SortStableFunc(d.Fields, func(a, b FieldDef) int {
		if a.Extension || b.Extension {
			return cmp.Compare(btoi(a.Extension), btoi(b.Extension))
		}
		return cmp.Compare(b.Size, a.Size)
	})
	c := crc(crcStart, []byte(name+" "))
	for i := range d.Fields {
		f := &d.Fields[i]
		f.Offset = d.Full
		d.Full += f.Bytes()
		if f.Extension {
			continue
		}
		d.Base = d.Full
		c = crc(c, []byte(f.Type+" "+f.Name+" "))
		if f.Length > 0 {
			c = crc(c, []byte{byte(f.Length)})
		}
	}
	d.CRCExtra = byte(c) ^ byte(c>>8)
	return d
}

func fieldDef(i int, f reflect.StructField) FieldDef {
	d := FieldDef{Name: f.Tag.Get("mav"), Unit: f.Tag.Get("unit"), index: i}
	_, d.Extension = f.Tag.Lookup("ext")
	t := f.Type
	if t.Kind() == reflect.Array {
		d.Length, t = t.Len(), t.Elem()
	}
	d.Size, d.Type = int(t.Size()), typeNames[t.Kind()]
	for s := range strings.FieldsSeq(f.Tag.Get("none")) {
		n, err := strconv.ParseUint(s, 0, 64)
		if err != nil {
			panic(fmt.Sprintf("mavlink: tag of %s: %v", f.Name, err))
		}
		d.None = append(d.None, n)
	}
	return d
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}
