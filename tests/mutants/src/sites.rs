//! Where a fault can be planted, and what is planted there.

use proc_macro2::{Span, TokenStream, TokenTree};
use quote::ToTokens;
use syn::punctuated::Punctuated;
use syn::spanned::Spanned;
use syn::visit::{self, Visit};
use syn::{BinOp, Block, Expr, ItemFn, Lit, Stmt, Token};

/// How the text of a site is changed.
#[derive(Clone)]
pub enum Change {
    /// This instead of the expression.
    Instead(String),
    /// The contrary of a truth value.
    Not,
    /// A statement left out.
    Without,
    /// This instead of the statement.
    Statement(String),
}

/// A place in a file.
#[derive(Clone)]
pub struct Site {
    pub kind: &'static str,
    /// Bytes of the file.
    pub from: usize,
    pub to: usize,
    pub line: usize,
    /// Old and new, for people.
    pub says: String,
    pub change: Change,
}

impl Site {
    /// What is written before and behind the site's own text.
    pub fn around(&self, number: usize) -> (String, String) {
        let is = format!("crate::mutant::is({number})");
        match &self.change {
            Change::Instead(other) => (format!("(if {is} {{ {other} }} else {{ "), " })".into()),
            Change::Not => (format!("({is} ^ ("), "))".into()),
            Change::Without => (format!("if !{is} {{ "), " }".into()),
            Change::Statement(other) => (format!("if {is} {{ {other} }} else {{ "), " }".into()),
        }
    }
}

/// All sites of a file's text.
pub fn sites(text: &str) -> syn::Result<Vec<Site>> {
    let mut finder = Finder { found: Vec::new() };
    finder.visit_file(&syn::parse_file(text)?);
    Ok(finder.found)
}

struct Finder {
    found: Vec<Site>,
}

/// Methods whose names can be exchanged.
const METHODS: [(&str, &str); 22] = [
    ("low", "high"),
    ("high", "low"),
    ("si", "high"),
    ("si", "low"),
    ("min", "max"),
    ("max", "min"),
    ("min_by", "max_by"),
    ("max_by", "min_by"),
    ("min_by_key", "max_by_key"),
    ("max_by_key", "min_by_key"),
    ("any", "all"),
    ("all", "any"),
    ("first", "last"),
    ("last", "first"),
    ("floor", "ceil"),
    ("ceil", "floor"),
    ("round", "floor"),
    ("is_some", "is_none"),
    ("is_none", "is_some"),
    ("is_some_and", "is_none_or"),
    ("is_none_or", "is_some_and"),
    ("skip", "take"),
];

/// Fields likewise.
const FIELDS: [(&str, &str); 3] = [("low", "high"), ("high", "low"), ("likely", "high")];

/// Methods that add to what they are called on.
const ADDING: [&str; 4] = ["push", "extend", "insert", "push_str"];

/// Macros whose arguments are expressions.
const READ: [&str; 4] = ["vec", "format", "write", "writeln"];

impl Finder {
    fn add(&mut self, kind: &'static str, span: Span, says: String, change: Change) {
        let bytes = span.byte_range();
        let line = span.start().line;
        self.found.push(Site { kind, from: bytes.start, to: bytes.end, line, says, change });
    }

    fn instead(&mut self, kind: &'static str, of: &Expr, other: TokenStream, says: String) {
        self.add(kind, of.span(), says, Change::Instead(other.to_string()));
    }

    fn binary(&mut self, of: &Expr, it: &syn::ExprBinary) {
        let (left, right) = (&it.left, &it.right);
        let old = it.op.to_token_stream().to_string();
        let mut swap = |kind, new: BinOp| {
            let says = format!("`{old}` to `{}`", new.to_token_stream());
            self.instead(kind, of, quote::quote!(#left #new #right), says);
        };
        match it.op {
            BinOp::Add(_) => swap("arithmetic", BinOp::Sub(Default::default())),
            BinOp::Sub(_) => swap("arithmetic", BinOp::Add(Default::default())),
            BinOp::Mul(_) => swap("arithmetic", BinOp::Div(Default::default())),
            BinOp::Div(_) => swap("arithmetic", BinOp::Mul(Default::default())),
            BinOp::Rem(_) => swap("arithmetic", BinOp::Div(Default::default())),
            BinOp::Lt(_) => swap("boundary", BinOp::Le(Default::default())),
            BinOp::Le(_) => swap("boundary", BinOp::Lt(Default::default())),
            BinOp::Gt(_) => swap("boundary", BinOp::Ge(Default::default())),
            BinOp::Ge(_) => swap("boundary", BinOp::Gt(Default::default())),
            BinOp::And(_) if !lets(of) => swap("logic", BinOp::Or(Default::default())),
            BinOp::Or(_) => swap("logic", BinOp::And(Default::default())),
            BinOp::AddAssign(_) | BinOp::SubAssign(_) | BinOp::MulAssign(_) => {}
            _ => {}
        }
        match it.op {
            BinOp::Lt(_)
            | BinOp::Le(_)
            | BinOp::Gt(_)
            | BinOp::Ge(_)
            | BinOp::Eq(_)
            | BinOp::Ne(_) => {
                self.add("comparison", of.span(), format!("`{old}` to its contrary"), Change::Not);
            }
            _ => {}
        }
    }

    fn literal(&mut self, of: &Expr, lit: &Lit) {
        match lit {
            Lit::Float(x) => {
                let zero = x.base10_parse::<f64>().is_ok_and(|x| x == 0.0);
                let other = if zero { quote::quote!(1.0) } else { quote::quote!(1.5 * #x) };
                self.instead(
                    "literal",
                    of,
                    other,
                    format!("`{x}` to {}", if zero { "1" } else { "half as much more" }),
                );
            }
            Lit::Int(x) => {
                self.instead("literal", of, quote::quote!(#x + 1), format!("`{x}` to one more"));
            }
            Lit::Bool(x) => {
                let other = !x.value;
                self.instead(
                    "truth",
                    of,
                    quote::quote!(#other),
                    format!("`{}` to `{other}`", x.value),
                );
            }
            _ => {}
        }
    }

    fn call(&mut self, of: &Expr, it: &syn::ExprMethodCall) {
        let name = it.method.to_string();
        for (_, new) in METHODS.iter().filter(|(old, _)| *old == name) {
            let mut other = it.clone();
            other.method = syn::Ident::new(new, it.method.span());
            let kind = if ["low", "high", "si"].contains(&&*name) { "end" } else { "method" };
            self.instead(kind, of, other.to_token_stream(), format!("`{name}` to `{new}`"));
        }
        if name == "is_empty" || name == "contains" {
            self.add("condition", of.span(), format!("`{name}` to its contrary"), Change::Not);
        }
    }

    fn condition(&mut self, of: &Expr) {
        // A comparison is turned about where it stands.
        let plain = matches!(of, Expr::Binary(b) if !matches!(b.op, BinOp::And(_) | BinOp::Or(_)));
        if !lets(of) && !plain {
            self.add("condition", of.span(), "condition to its contrary".into(), Change::Not);
        }
    }

    fn inside(&mut self, tokens: &TokenStream) {
        let parse = Punctuated::<Expr, Token![,]>::parse_terminated;
        if let Ok(all) = syn::parse::Parser::parse2(parse, tokens.clone()) {
            self.each(&all.into_iter().collect::<Vec<_>>());
        }
    }

    fn each(&mut self, all: &[Expr]) {
        let mut finder = Finder { found: Vec::new() };
        all.iter().for_each(|expr| finder.visit_expr(expr));
        self.found.append(&mut finder.found);
    }

    fn reads(&mut self, it: &syn::Macro) {
        if READ.iter().any(|name| it.path.is_ident(name)) {
            self.inside(&it.tokens);
        }
    }
}

/// Whether a condition binds a name.
fn lets(of: &Expr) -> bool {
    match of {
        Expr::Let(_) => true,
        Expr::Binary(b) => lets(&b.left) || lets(&b.right),
        Expr::Paren(p) => lets(&p.expr),
        _ => false,
    }
}

impl<'a> Visit<'a> for Finder {
    fn visit_item(&mut self, it: &'a syn::Item) {
        match it {
            syn::Item::Const(_) | syn::Item::Static(_) | syn::Item::Enum(_) => {}
            syn::Item::Mod(m) if testing(&m.attrs) => {}
            syn::Item::Macro(m) if m.mac.path.is_ident("formulas") => self.bodies(&m.mac.tokens),
            _ => visit::visit_item(self, it),
        }
    }

    fn visit_item_fn(&mut self, it: &'a ItemFn) {
        if it.sig.constness.is_none() && !testing(&it.attrs) {
            self.visit_block(&it.block);
        }
    }

    fn visit_impl_item(&mut self, it: &'a syn::ImplItem) {
        if let syn::ImplItem::Fn(f) = it
            && f.sig.constness.is_none()
            && !testing(&f.attrs)
        {
            self.visit_block(&f.block);
        }
    }

    fn visit_trait_item(&mut self, it: &'a syn::TraitItem) {
        if let syn::TraitItem::Fn(f) = it
            && let Some(block) = &f.default
        {
            self.visit_block(block);
        }
    }

    fn visit_pat(&mut self, _: &'a syn::Pat) {}
    fn visit_type(&mut self, _: &'a syn::Type) {}
    fn visit_attribute(&mut self, _: &'a syn::Attribute) {}
    fn visit_generic_argument(&mut self, _: &'a syn::GenericArgument) {}

    fn visit_block(&mut self, it: &'a Block) {
        for stmt in &it.stmts {
            let Stmt::Expr(expr, Some(_)) = stmt else { continue };
            match expr {
                Expr::MethodCall(call) if ADDING.iter().any(|name| call.method == name) => {
                    let says = format!("`{}` left out", call.method);
                    self.add("statement", stmt.span(), says, Change::Without);
                }
                Expr::Binary(b) => {
                    let (left, right) = (&b.left, &b.right);
                    let (says, other) = match b.op {
                        BinOp::AddAssign(_) => ("`+=` to `-=`", quote::quote!(#left -= #right;)),
                        BinOp::SubAssign(_) => ("`-=` to `+=`", quote::quote!(#left += #right;)),
                        BinOp::MulAssign(_) => ("`*=` to `/=`", quote::quote!(#left /= #right;)),
                        _ => continue,
                    };
                    let change = Change::Statement(other.to_string());
                    self.add("arithmetic", stmt.span(), says.into(), change);
                }
                _ => {}
            }
        }
        visit::visit_block(self, it);
    }

    fn visit_stmt_macro(&mut self, it: &'a syn::StmtMacro) {
        self.reads(&it.mac);
    }

    fn visit_expr_repeat(&mut self, it: &'a syn::ExprRepeat) {
        self.visit_expr(&it.expr);
    }

    fn visit_arm(&mut self, it: &'a syn::Arm) {
        if let Some((_, guard)) = &it.guard {
            self.condition(guard);
        }
        visit::visit_arm(self, it);
    }

    fn visit_expr(&mut self, it: &'a Expr) {
        match it {
            Expr::Binary(b) => self.binary(it, b),
            Expr::Lit(l) => self.literal(it, &l.lit),
            Expr::MethodCall(call) => self.call(it, call),
            Expr::If(i) => self.condition(&i.cond),
            Expr::Field(f) => {
                if let syn::Member::Named(name) = &f.member {
                    for (_, new) in FIELDS.iter().filter(|(old, _)| name == old) {
                        let mut other = f.clone();
                        other.member = syn::Member::Named(syn::Ident::new(new, name.span()));
                        self.instead(
                            "end",
                            it,
                            other.to_token_stream(),
                            format!("`{name}` to `{new}`"),
                        );
                    }
                }
            }
            Expr::Path(p) => {
                let name = p.path.segments.last().map(|s| s.ident.to_string()).unwrap_or_default();
                let upper = |c: char| c.is_ascii_uppercase() || c == '_' || c.is_ascii_digit();
                // More than infinite is the same.
                if name.len() > 1 && name != "INFINITY" && name.chars().all(upper) {
                    self.instead(
                        "constant",
                        it,
                        quote::quote!(1.5 * #p),
                        format!("`{name}` to half as much more"),
                    );
                }
            }
            Expr::Macro(m) => self.reads(&m.mac),
            _ => {}
        }
        visit::visit_expr(self, it);
    }
}

impl Finder {
    /// The bodies in a list of `formulas!`: what stands between `-> Type =` and `;`.
    fn bodies(&mut self, tokens: &TokenStream) {
        let all: Vec<TokenTree> = tokens.clone().into_iter().collect();
        let is = |at: usize, c: char| matches!(all.get(at), Some(TokenTree::Punct(p)) if p.as_char() == c);
        let mut bodies = Vec::new();
        for at in 0..all.len() {
            if is(at, '-') && is(at + 1, '>') && is(at + 3, '=') {
                let body = all[at + 4..].iter().take_while(|t| t.to_string() != ";").cloned();
                bodies.extend(syn::parse2::<Expr>(body.collect()));
            }
        }
        self.each(&bodies);
    }
}

fn testing(attrs: &[syn::Attribute]) -> bool {
    attrs.iter().any(|a| {
        let text = a.to_token_stream().to_string();
        text.contains("(test") || text.contains("[test]")
    })
}
