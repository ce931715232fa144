// Package plan is the scene "Plan the session".
package plan
