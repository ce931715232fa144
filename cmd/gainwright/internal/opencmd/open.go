// Package opencmd is the command open: the scene, compiled if need be and served to
// a browser.
package opencmd

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"runtime"
	"strconv"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/serve"
)

// New is the scene in a browser.
func New() *cobra.Command {
	var port int
	var noBrowser bool
	cmd := &cobra.Command{
		Use:   "open",
		Short: "Open the scene in the browser",
		Long: `Open the scene in the browser.

The scene is compiled for the browser on the first start, and again when its
source has changed; that takes a while and needs the Go tool. The result
is kept in the user's cache folder, so that later starts take no time and no
network. It is served to this computer only, until Ctrl-C.`,
		Example: `  gainwright open
  gainwright open --port 8137
  gainwright open --no-browser`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return open(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr(), port, !noBrowser)
		},
	}
	cmd.Flags().IntVar(&port, "port", 0, "the port to serve on (0: any that is free)")
	cmd.Flags().BoolVar(&noBrowser, "no-browser", false, "do not open a browser, only print the address")
	return cmd
}

// open serves the scene until the context ends, which is how it is meant to end;
// before it serves that is an error.
func open(ctx context.Context, out, log io.Writer, port int, browser bool) error {
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

	cwd, err := os.Getwd()
	if err != nil {
		return err
	}
	src, err := serve.FindSource(cwd)
	if err != nil {
		return err
	}
	cache, err := serve.NewCache()
	if err != nil {
		return err
	}
	p := progress{w: log, live: cli.IsTerminal(log)}
	cache.Say = p.say
	dir, _, err := cache.Ensure(ctx, src)
	p.end()
	if err != nil {
		return err
	}

	server := serve.Server(dir)
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(l) }()
	url := fmt.Sprintf("http://%s/", l.Addr())
	fmt.Fprintf(out, "Gainwright is at %s (Ctrl-C ends it)\n", url)
	if browser {
		if err := openBrowser(url); err != nil {
			fmt.Fprintf(log, "No browser could be opened (%v): open the address yourself.\n", err)
		}
	}
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
