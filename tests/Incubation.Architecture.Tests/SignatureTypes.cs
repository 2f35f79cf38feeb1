using System.Collections.Immutable;
using System.Reflection.Metadata;

namespace Incubation.Architecture.Tests;

/// <summary>Gathers the room's own types out of signatures and of whatever an instruction names.</summary>
/// <param name="reader">The room.</param>
/// <param name="found">Where they are gathered.</param>
internal sealed class SignatureTypes(MetadataReader reader, HashSet<TypeDefinitionHandle> found)
    : ISignatureTypeProvider<bool, object?>
{
    /// <summary>Takes in a type, a member, or an instance of a generic one.</summary>
    public void Add(EntityHandle handle)
    {
        if (handle.IsNil)
            return;
        switch (handle.Kind)
        {
            case HandleKind.TypeDefinition:
                found.Add((TypeDefinitionHandle)handle);
                break;
            case HandleKind.TypeSpecification:
                reader.GetTypeSpecification((TypeSpecificationHandle)handle).DecodeSignature(this, null);
                break;
            case HandleKind.MethodDefinition:
                found.Add(reader.GetMethodDefinition((MethodDefinitionHandle)handle).GetDeclaringType());
                break;
            case HandleKind.FieldDefinition:
                found.Add(reader.GetFieldDefinition((FieldDefinitionHandle)handle).GetDeclaringType());
                break;
            case HandleKind.MemberReference:
                Add(reader.GetMemberReference((MemberReferenceHandle)handle).Parent);
                break;
            case HandleKind.MethodSpecification:
                var method = reader.GetMethodSpecification((MethodSpecificationHandle)handle);
                Add(method.Method);
                method.DecodeSignature(this, null);
                break;
        }
    }

    public bool GetTypeFromDefinition(MetadataReader reader, TypeDefinitionHandle handle, byte rawTypeKind) =>
        found.Add(handle);

    public bool GetTypeFromSpecification(
        MetadataReader reader, object? genericContext, TypeSpecificationHandle handle, byte rawTypeKind)
    {
        Add(handle);
        return false;
    }

    public bool GetTypeFromReference(MetadataReader reader, TypeReferenceHandle handle, byte rawTypeKind) => false;

    public bool GetPrimitiveType(PrimitiveTypeCode typeCode) => false;

    public bool GetSZArrayType(bool elementType) => false;

    public bool GetArrayType(bool elementType, ArrayShape shape) => false;

    public bool GetByReferenceType(bool elementType) => false;

    public bool GetPointerType(bool elementType) => false;

    public bool GetPinnedType(bool elementType) => false;

    public bool GetFunctionPointerType(MethodSignature<bool> signature) => false;

    public bool GetGenericInstantiation(bool genericType, ImmutableArray<bool> typeArguments) => false;

    public bool GetGenericMethodParameter(object? genericContext, int index) => false;

    public bool GetGenericTypeParameter(object? genericContext, int index) => false;

    public bool GetModifiedType(bool modifier, bool unmodifiedType, bool isRequired) => false;
}
