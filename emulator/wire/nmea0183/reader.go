package nmea0183

import "io"

// A Reader pulls the events out of an [io.Reader].
type Reader struct {
	r   io.Reader
	d   Decoder
	buf []byte
	err error
}

// NewReader makes a reader of r.
func NewReader(r io.Reader) *Reader { return &Reader{r: r, buf: make([]byte, 64<<10)} }

// Next gives the next event, valid until the next call. Its error is that of the underlying reader, [io.EOF] at the
// end, and comes after all events.
func (r *Reader) Next() (*Event, error) {
	for {
		if ev, ok := r.d.Next(); ok {
			return ev, nil
		}
		if r.err != nil {
			return nil, r.err
		}
		var n int
		if n, r.err = r.r.Read(r.buf); n > 0 {
			r.d.Push(r.buf[:n])
		}
		if r.err != nil {
			r.d.Flush()
		}
	}
}
