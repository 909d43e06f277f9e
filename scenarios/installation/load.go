package installation

import (
	"io/fs"

	"swellbench/scenarios/strictyaml"
)

// Load reads an installation file, and those it pulls in, and validates it. The errors are those of
// [strictyaml.Decode], with every [Installation.Validate] problem in its place.
func Load(path string) (*Installation, error) {
	in := new(Installation)
	doc, err := strictyaml.DecodeFile(path, in)
	return in.finish(doc, err)
}

// LoadFS is [Load] from another file system.
func LoadFS(fsys fs.FS, name string) (*Installation, error) {
	in := new(Installation)
	doc, err := strictyaml.Decode(fsys, name, in)
	return in.finish(doc, err)
}

// Parse is [Load] from data, which cannot pull in files; errors call it by name.
func Parse(name string, data []byte) (*Installation, error) {
	in := new(Installation)
	doc, err := strictyaml.DecodeBytes(name, data, in)
	return in.finish(doc, err)
}

// finish validates what could be read without errors.
func (in *Installation) finish(doc *strictyaml.Doc, err error) (*Installation, error) {
	if err == nil {
		err = doc.Problems(in.Validate())
	}
	if err != nil {
		return nil, err
	}
	return in, nil
}
