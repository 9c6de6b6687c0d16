package report

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
)

// Output is a file that is written whole or not at all.
type Output struct {
	path string
	mode fs.FileMode // of the file that is replaced; 0 if there is none
	// direct says that the path is something to write to that cannot be replaced, such as a device or a pipe.
	direct bool
}

// NewOutput returns an output for a path, having found out, before any work is done for it, that it can be written. A file that is there
// already will be replaced. The error says what is wrong, without the path.
func NewOutput(path string) (*Output, error) {
	if path == "" {
		return nil, errors.New("no file is named")
	}
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	o := &Output{path: path}
	if resolved, err := filepath.EvalSymlinks(path); err == nil {
		o.path = resolved // or the link would be replaced by the file
	}
	switch info, err := os.Stat(o.path); {
	case err == nil && info.IsDir():
		return nil, errors.New("it is a folder; name a file in it")
	case err == nil && !info.Mode().IsRegular():
		o.direct = true
		return o, nil
	case err == nil:
		o.mode = info.Mode().Perm()
	case !errors.Is(err, fs.ErrNotExist):
		return nil, reasonOf(err)
	}
	folder := filepath.Dir(o.path)
	if _, err := os.Stat(folder); errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("there is no folder %s; make it first", folder)
	}
	f, err := o.create()
	if err != nil {
		return nil, fmt.Errorf("no file can be made in %s: %w", folder, reasonOf(err))
	}
	return o, errors.Join(f.Close(), os.Remove(f.Name()))
}

// Path returns the path of the file from the root, with no symbolic link in it if the file was there.
func (o *Output) Path() string { return o.path }

// create makes a file beside the one that it will become.
func (o *Output) create() (*os.File, error) {
	for {
		name := filepath.Join(filepath.Dir(o.path), fmt.Sprintf(".hearthbench-%08x.tmp", rand.Uint32()))
		f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
		if !errors.Is(err, fs.ErrExist) {
			return f, err
		}
	}
}

// Write puts into the file what write writes. After an error the file is as it was before.
func (o *Output) Write(write func(io.Writer) error) (err error) {
	if o.direct {
		f, err := os.OpenFile(o.path, os.O_WRONLY, 0)
		if err != nil {
			return err
		}
		return errors.Join(write(f), f.Close())
	}
	f, err := o.create()
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.Remove(f.Name()))
		}
	}()
	if err := errors.Join(write(f), f.Sync(), f.Close()); err != nil {
		return err
	}
	if o.mode != 0 {
		if err := os.Chmod(f.Name(), o.mode); err != nil {
			return err
		}
	}
	return os.Rename(f.Name(), o.path)
}

// reasonOf is an error of the file system without the operation and the path, which the caller has worded.
func reasonOf(err error) error {
	var at *fs.PathError
	if errors.As(err, &at) {
		return at.Err
	}
	return err
}
