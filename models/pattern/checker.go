package pattern

import (
	"fmt"
	"slices"
	"strings"

	"github.com/expr-lang/expr/ast"
)

// checker walks an expression from the leaves up. It keeps the expression to the
// closed language, finds the sort of every value, makes every number a float, and
// turns the signs between lengths into calls. The first error stays.
type checker struct {
	reach names
	sorts map[ast.Node]sort
	last  sort // of the node visited last: in the end, of the whole
	named []string
	wrong *expressionError
}

func (c *checker) refuse(n ast.Node, format string, args ...any) {
	if c.wrong == nil {
		c.wrong = &expressionError{column: n.Location().From, reason: fmt.Sprintf(format, args...)}
	}
}

// Visit is called by the expression library for every node, children first.
func (c *checker) Visit(node *ast.Node) {
	if c.wrong != nil {
		return
	}
	s := sort(0)
	switch n := (*node).(type) {
	case *ast.IntegerNode:
		ast.Patch(node, &ast.FloatNode{Value: float64(n.Value)})
		s = isNumber
	case *ast.FloatNode:
		s = isNumber
	case *ast.StringNode:
		s = isText
	case *ast.BoolNode:
		s = isTruth
	case *ast.IdentifierNode:
		s = c.identifier(n)
	case *ast.CallNode:
		s = c.call(n)
	case *ast.UnaryNode:
		s = c.unary(n)
	case *ast.BinaryNode:
		s = c.binary(node, n)
	case *ast.ConditionalNode:
		s = c.conditional(n)
	case *ast.ArrayNode:
		s = c.array(n)
	default:
		c.refuse(n, "this is not part of the language of expressions")
	}
	if s != 0 && s != isList {
		(*node).SetType(goType[s])
	}
	c.sorts[*node], c.last = s, s
}

// isList is the sort of a list of texts; it may only stand after "in".
const isList sort = 100

func (c *checker) identifier(n *ast.IdentifierNode) sort {
	if s := c.reach[n.Value]; s != 0 {
		c.named = append(c.named, n.Value)
		return s
	}
	if functions[n.Value] == nil {
		c.refuse(n, "the name %q is not known here", n.Value)
	}
	return 0
}

func (c *checker) call(n *ast.CallNode) sort {
	name, plain := n.Callee.(*ast.IdentifierNode)
	if !plain || functions[name.Value] == nil || c.reach[name.Value] != 0 {
		c.refuse(n, "this is no function of the language")
		return 0
	}
	takes := make([]sort, len(n.Arguments))
	given := make([]string, len(n.Arguments))
	for i, a := range n.Arguments {
		takes[i] = c.sorts[a]
		given[i] = takes[i].String()
	}
	for _, s := range functions[name.Value].signatures {
		if slices.Equal(s.takes, takes) {
			return s.gives
		}
	}
	c.refuse(n, "%s does not take (%s)", name.Value, strings.Join(given, ", "))
	return 0
}

func (c *checker) unary(n *ast.UnaryNode) sort {
	s := c.sorts[n.Node]
	switch {
	case (n.Operator == "-" || n.Operator == "+") && s == isNumber,
		(n.Operator == "not" || n.Operator == "!") && s == isTruth:
		return s
	}
	c.refuse(n, "the sign %s does not go before %s", n.Operator, s)
	return 0
}

func (c *checker) binary(node *ast.Node, n *ast.BinaryNode) sort {
	left, right := c.sorts[n.Left], c.sorts[n.Right]
	switch op := n.Operator; {
	case left == isLength || right == isLength:
		return c.lengths(node, n, left, right)
	case slices.Contains([]string{"+", "-", "*", "/"}, op) && left == isNumber && right == isNumber:
		return isNumber
	case slices.Contains([]string{"<", "<=", ">", ">="}, op) && left == isNumber && right == isNumber,
		slices.Contains([]string{"and", "or", "&&", "||"}, op) && left == isTruth && right == isTruth,
		(op == "==" || op == "!=") && left == right && left != isList,
		op == "in" && left == isText && right == isList:
		return isTruth
	}
	c.refuse(n, "the sign %s does not go between %s and %s", n.Operator, left, right)
	return 0
}

// lengths turns a sign with a length on a side into the call that does it.
func (c *checker) lengths(node *ast.Node, n *ast.BinaryNode, left, right sort) sort {
	if (n.Operator == "==" || n.Operator == "!=") && left == right {
		return isTruth
	}
	name := lengthSigns[n.Operator]
	if f := functions[name]; f != nil {
		for _, s := range f.signatures {
			if s.takes[0] == left && s.takes[1] == right {
				ast.Patch(node, &ast.CallNode{Callee: &ast.IdentifierNode{Value: name}, Arguments: []ast.Node{n.Left, n.Right}})
				return s.gives
			}
		}
	}
	c.refuse(n, "the sign %s does not go between %s and %s", n.Operator, left, right)
	return 0
}

func (c *checker) conditional(n *ast.ConditionalNode) sort {
	one, other := c.sorts[n.Exp1], c.sorts[n.Exp2]
	switch {
	case c.sorts[n.Cond] != isTruth:
		c.refuse(n, "before ? something true or false is wanted, not %s", c.sorts[n.Cond])
	case one != other || one == isList:
		c.refuse(n, "it gives %s or %s; both must be of one sort", one, other)
	}
	return one
}

func (c *checker) array(n *ast.ArrayNode) sort {
	for _, x := range n.Nodes {
		if c.sorts[x] != isText {
			c.refuse(x, "a list may only hold texts")
		}
	}
	return isList
}
