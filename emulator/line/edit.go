package line

// An Edit is what one fault did to the bytes of a message: Cut bytes from At on became Put.
type Edit struct {
	Fault string
	At    int
	Cut   int
	Put   []byte
}
