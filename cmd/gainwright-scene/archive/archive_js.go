package archive

import "syscall/js"

const (
	database = "gainwright"
	version  = 1
	store    = "kept" // name → bytes
)

// Archive is the browser's database for this address, which is opened when it is first needed.
// Its methods wait for the browser: a callback must not call them.
type Archive struct {
	db js.Value
}

// listen has f called by the events of target; the function that it gives ends that.
func listen(target js.Value, fs map[string]func()) (end func()) {
	var funcs []js.Func
	for event, f := range fs {
		call := js.FuncOf(func(js.Value, []js.Value) any { f(); return nil })
		target.Set("on"+event, call)
		funcs = append(funcs, call)
	}
	return func() {
		for event := range fs {
			target.Set("on"+event, js.Null())
		}
		for _, c := range funcs {
			c.Release()
		}
	}
}

// failure is what a request or a transaction failed by.
func failure(of js.Value) error {
	e := of.Get("error")
	if !e.Truthy() {
		return Explain("AbortError", "")
	}
	return Explain(e.Get("name").String(), e.Get("message").String())
}

// guarded gives what f does, or why the browser threw something.
func guarded[T any](f func() (T, error)) (v T, err error) {
	defer func() {
		switch p := recover().(type) {
		case nil:
		case js.Error:
			err = Explain(p.Get("name").String(), p.Get("message").String())
		default:
			err = ErrForbidden // there is no database
		}
	}()
	return f()
}

// open opens the database, and makes it at a first visit.
func (a *Archive) open() (js.Value, error) {
	if a.db.Truthy() {
		return a.db, nil
	}
	request := js.Global().Get("indexedDB").Call("open", database, version)
	done := make(chan error, 4)
	end := listen(request, map[string]func(){
		"upgradeneeded": func() {
			if db := request.Get("result"); !db.Get("objectStoreNames").Call("contains", store).Bool() {
				db.Call("createObjectStore", store)
			}
		},
		"success": func() { done <- nil },
		"error":   func() { done <- failure(request) },
		"blocked": func() { done <- ErrBlocked },
	})
	err := <-done
	end()
	if err != nil {
		return js.Value{}, err
	}
	db := request.Get("result")
	a.db = db
	// These live as long as the database: another tab brings a newer one, or the user has
	// the browser forget this address.
	listen(db, map[string]func(){
		"versionchange": func() { db.Call("close"); a.db = js.Undefined() },
		"close":         func() { a.db = js.Undefined() },
	})
	return db, nil
}

// do makes one request in a transaction of its own, and gives its result when that is
// written.
func (a *Archive) do(mode string, ask func(store js.Value) js.Value) (js.Value, error) {
	return guarded(func() (js.Value, error) {
		db, err := a.open()
		if err != nil {
			return js.Value{}, err
		}
		t := db.Call("transaction", store, mode)
		done := make(chan error, 4)
		end := listen(t, map[string]func(){
			"complete": func() { done <- nil },
			"abort":    func() { done <- failure(t) },
		})
		defer end()
		request := ask(t.Call("objectStore", store))
		if err := <-done; err != nil {
			return js.Value{}, err
		}
		return request.Get("result"), nil
	})
}

// Bytes is a copy of data for Keep.
func Bytes(data []byte) (js.Value, error) {
	return guarded(func() (js.Value, error) {
		b := js.Global().Get("Uint8Array").New(len(data))
		js.CopyBytesToJS(b, data)
		return b, nil
	})
}

// Keep keeps bytes under a name, in place of what was kept under it.
func (a *Archive) Keep(name string, bytes js.Value) error {
	_, err := a.do("readwrite", func(s js.Value) js.Value { return s.Call("put", bytes, name) })
	return err
}

// Kept gives the names of all that is kept, in order.
func (a *Archive) Kept() (names []string, err error) {
	all, err := a.do("readonly", func(s js.Value) js.Value { return s.Call("getAllKeys") })
	if err != nil {
		return nil, err
	}
	for i := range all.Length() {
		names = append(names, all.Index(i).String())
	}
	return names, nil
}

// Fetch gives what is kept under a name; nil where nothing is.
func (a *Archive) Fetch(name string) ([]byte, error) {
	v, err := a.do("readonly", func(s js.Value) js.Value { return s.Call("get", name) })
	if err != nil || !v.Truthy() {
		return nil, err
	}
	data := make([]byte, v.Length())
	js.CopyBytesToGo(data, v)
	return data, nil
}

// Forget deletes it.
func (a *Archive) Forget(name string) error {
	_, err := a.do("readwrite", func(s js.Value) js.Value { return s.Call("delete", name) })
	return err
}
