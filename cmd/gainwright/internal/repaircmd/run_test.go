package repaircmd

import (
	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/clitest"
)

// call runs the commands of this package in the given directory; must wants success.
var call, must = clitest.For(func() *cobra.Command { return cli.Program(New()) })
