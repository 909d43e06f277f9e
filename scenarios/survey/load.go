package survey

import (
	"io/fs"

	"swellbench/scenarios/strictyaml"
)

// Load reads a sheet, and the files it pulls in, and works it out. The errors are those of [strictyaml.Decode], with
// every problem of [Sheet.Validate] and [New] in its place.
func Load(path string) (*Survey, error) {
	s := new(Sheet)
	doc, err := strictyaml.DecodeFile(path, s)
	return finish(s, doc, err)
}

// LoadFS is [Load] from another file system.
func LoadFS(fsys fs.FS, name string) (*Survey, error) {
	s := new(Sheet)
	doc, err := strictyaml.Decode(fsys, name, s)
	return finish(s, doc, err)
}

// Parse is [Load] from data, which cannot pull in files; errors call it by name.
func Parse(name string, data []byte) (*Survey, error) {
	s := new(Sheet)
	doc, err := strictyaml.DecodeBytes(name, data, s)
	return finish(s, doc, err)
}

func finish(s *Sheet, doc *strictyaml.Doc, err error) (*Survey, error) {
	if err != nil {
		return nil, err
	}
	if err := doc.Problems(s.Validate()); err != nil {
		return nil, err
	}
	v, ps := New(s)
	if err := doc.Problems(ps); err != nil {
		return nil, err
	}
	return v, nil
}
