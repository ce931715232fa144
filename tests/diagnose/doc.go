// Package diagnose_test measures what sim/diagnose tells of recordings whose past
// is known (labelled/ makes them, train/ learns from the other half of them), and
// that the two performances of sim/proof leave one file.
package diagnose
