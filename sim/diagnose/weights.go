package diagnose

var (
	theModel           Model
	hardOver, softOver OverModel
)
