// Package opencmd is the command open: the scene, compiled if need be and served to
// a browser.
package opencmd

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"runtime"
	"strconv"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/serve"
	"gainwright/sounds"
)

// New is the scene in a browser.
func New() *cobra.Command {
	var o options
	var noBrowser bool
	cmd := &cobra.Command{
		Use:   "open",
		Short: "Open the scene in the browser",
		Long: `Open the scene in the browser.

A released program has the scene inside (gainwright version tells). One made from the
source compiles it for the browser on the first start, and again when its source has
changed; that takes a while and needs the Go tool. The result is kept in the user's
cache folder, so that later starts take no time and no network. It is served to this
computer only, until Ctrl-C.

So a link that is copied in the scene is good here only, while the program runs. With
--public-url and the address of a site (gainwright site), links name that site, and
have a QR picture; it is kept in your settings until --public-url "" takes it away.

With --watch, for those who change the scene: when a file of its source is saved it
is compiled, uncompressed, and the page loads again with its settings and takes. What
does not compile is told, here and in the page, and the old scene stays. The page
around the scene and the commands are part of this program: start it again for them.`,
		Example: `  gainwright open
  gainwright open --port 8137
  gainwright open --no-browser
  gainwright open --watch
  gainwright open --public-url https://training.example.org/gain/`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			o.browser = !noBrowser
			var err error
			if o.public, err = publicURL(o.public, cmd.Flags().Changed(publicFlag)); err != nil {
				return err
			}
			return open(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr(), o)
		},
	}
	cmd.Flags().IntVar(&o.port, "port", 0, "the port to serve on (0: any that is free)")
	cmd.Flags().BoolVar(&noBrowser, "no-browser", false, "do not open a browser, only print the address")
	cmd.Flags().BoolVar(&o.watch, "watch", false, "compile the scene again whenever its source is saved, and load the page again")
	cmd.Flags().StringVar(&o.public, publicFlag, "", "links name the site at `URL`, and not this computer; kept in your settings")
	return cmd
}

// options are how the scene is opened.
type options struct {
	port           int // 0: any that is free
	browser, watch bool
	public         string // the address that links name; "": this computer's
}

// open serves the scene until the context ends, which is how it is meant to end;
// before it serves that is an error.
func open(ctx context.Context, out, log io.Writer, o options) error {
	port := o.port
	if port < 0 || port > 65535 {
		return cli.Usagef("--port %d: a port is 1 to 65535, or 0 for any that is free", port)
	}
	// The port first: whoever asked for one need not wait to learn it is taken.
	l, err := net.Listen("tcp", net.JoinHostPort("127.0.0.1", strconv.Itoa(port)))
	if err != nil {
		if errors.Is(err, syscall.EADDRINUSE) {
			return fmt.Errorf("port %d is taken by another program: choose another with --port, or leave it out", port)
		}
		return fmt.Errorf("cannot serve on port %d: %w", port, err)
	}
	defer l.Close()

	p := cli.NewSteps(log)
	var server *http.Server
	watching := func() {}
	if o.watch {
		server, watching, err = watched(ctx, p, log, o.public)
	} else {
		var b serve.Build
		b, err = serve.Scene(ctx, p.Say)
		b.Public = o.public
		server = serve.Server(b)
	}
	p.End()
	if err != nil {
		return err
	}

	failed := make(chan error, 1)
	go func() { failed <- server.Serve(l) }()
	url := fmt.Sprintf("http://%s/", l.Addr())
	fmt.Fprintf(out, "Gainwright is at %s (Ctrl-C ends it)\n", url)
	if o.browser {
		if err := openBrowser(url); err != nil {
			fmt.Fprintf(log, "No browser could be opened (%v): open the address yourself.\n", err)
		}
	}
	go watching()
	select {
	case err := <-failed:
		return fmt.Errorf("serving the scene: %w", err)
	case <-ctx.Done():
	}
	end, cancel := context.WithTimeout(context.Background(), time.Second)
	defer cancel()
	if server.Shutdown(end) != nil {
		server.Close() // a download in the middle
	}
	return nil
}

// watched is the server of a source that is being worked on, and what looks at it
// until the context ends.
func watched(ctx context.Context, p *cli.Steps, log io.Writer, public string) (*http.Server, func(), error) {
	cwd, err := os.Getwd()
	if err != nil {
		return nil, nil, err
	}
	src, err := serve.FindSource(cwd)
	if err != nil {
		return nil, nil, errors.New("--watch compiles the scene from Gainwright's source, which was not found: start the program within its folder")
	}
	cache, err := serve.NewCache()
	if err != nil {
		return nil, nil, err
	}
	cache.Say = p.Say
	w, err := serve.NewWatched(ctx, cache, src)
	if err != nil {
		return nil, nil, err
	}
	w.Public = public
	w.Notify = func(err error, took time.Duration) {
		p.End()
		if err != nil {
			fmt.Fprintf(log, "%s; the old scene stays.\n", sounds.Shown(err.Error()))
			return
		}
		fmt.Fprintf(log, "Compiled in %.1f s; pages load again.\n", took.Seconds())
	}
	return w.Server(), func() { w.Watch(ctx) }, nil
}

// openBrowser asks the desktop to show url. It does not wait for the browser.
func openBrowser(url string) error {
	var name string
	args := []string{url}
	switch runtime.GOOS {
	case "darwin":
		name = "open"
	case "windows":
		name, args = "rundll32", []string{"url.dll,FileProtocolHandler", url}
	default:
		if os.Getenv("DISPLAY") == "" && os.Getenv("WAYLAND_DISPLAY") == "" {
			return errors.New("there is no display here")
		}
		name = "xdg-open"
	}
	cmd := exec.Command(name, args...)
	if err := cmd.Start(); err != nil {
		return err
	}
	go cmd.Wait()
	return nil
}
